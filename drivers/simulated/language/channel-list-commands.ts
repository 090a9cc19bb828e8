/**
 * The `scpi-channel-list` language: every supply command names its channel as `(@1)`, over-current
 * protection is only on or off, replies carry an exponent, and status follows layout C (OPERation
 * 256 voltage and 1024 current regulation, QUEStionable 1 and 2 tripped). One command a line: a
 * line with several units is refused whole with -102 and nothing of it is obeyed, as such
 * firmwares do.
 */

import { commonCommands } from './common-commands.ts';
import { withExponent } from './identity.ts';
import { ampsBounds, overVoltageBounds, voltsBounds } from './subsystem-commands.ts';
import type { Command, LanguageRules, ParameterType, ScpiDevice } from './table.ts';

export const channelListRules: LanguageRules = {
  compound: false,
  units: false,
  interrupts: false,
  zeroCode: '+0',
};

const channels: ParameterType = { kind: 'channels', optional: false };

const setPointCommands: readonly Command[] = [
  {
    pattern: '[SOURce]:VOLTage[:LEVel][:IMMediate][:AMPLitude]',
    parameters: [{ kind: 'numeric', unit: 'V', bounds: voltsBounds }, channels],
    askParameters: [{ kind: 'limit', bounds: voltsBounds }, channels],
    set: ({ supply, nowMs }, [volts = 0]) => {
      supply.setVoltsTo(volts, nowMs);
      return undefined;
    },
    ask: ({ supply }, [asked]) => withExponent(asked ?? supply.setVolts),
  },
  {
    pattern: '[SOURce]:CURRent[:LEVel][:IMMediate][:AMPLitude]',
    parameters: [{ kind: 'numeric', unit: 'A', bounds: ampsBounds }, channels],
    askParameters: [{ kind: 'limit', bounds: ampsBounds }, channels],
    set: ({ supply, nowMs }, [amps = 0]) => {
      supply.setAmpsTo(amps, nowMs);
      return undefined;
    },
    ask: ({ supply }, [asked]) => withExponent(asked ?? supply.setAmps),
  },
  {
    pattern: 'OUTPut[:STATe]',
    parameters: [{ kind: 'boolean' }, channels],
    askParameters: [channels],
    set: ({ supply, nowMs }, [on = 0]) =>
      supply.switchOutput(on === 1, nowMs)
        ? undefined
        : { code: -200, detail: 'a protection has tripped' },
    ask: ({ supply, nowMs }) => (supply.outputShown(nowMs) ? '1' : '0'),
  },
];

const measureCommands: readonly Command[] = [
  {
    pattern: 'MEASure[:SCALar]:VOLTage[:DC]',
    askParameters: [channels],
    ask: ({ supply, nowMs }) => withExponent(supply.measureVolts(nowMs)),
  },
  {
    pattern: 'MEASure[:SCALar]:CURRent[:DC]',
    askParameters: [channels],
    ask: ({ supply, nowMs }) => withExponent(supply.measureAmps(nowMs)),
  },
];

const protectionCommands: readonly Command[] = [
  {
    pattern: '[SOURce]:VOLTage:PROTection[:LEVel]',
    parameters: [{ kind: 'numeric', unit: 'V', bounds: overVoltageBounds }, channels],
    askParameters: [{ kind: 'limit', bounds: overVoltageBounds }, channels],
    set: ({ supply, nowMs }, [volts = 0]) => {
      supply.setOverVoltageTo(volts, nowMs);
      return undefined;
    },
    ask: ({ supply }, [asked]) => withExponent(asked ?? supply.overVoltageVolts),
  },
  {
    pattern: '[SOURce]:CURRent:PROTection:STATe',
    parameters: [{ kind: 'boolean' }, channels],
    askParameters: [channels],
    set: ({ supply, nowMs }, [on = 0]) => {
      supply.enableOverCurrent(on === 1, nowMs);
      return undefined;
    },
    ask: ({ supply }) => (supply.overCurrentEnabled ? '1' : '0'),
  },
  {
    pattern: 'OUTPut:PROTection:CLEar',
    parameters: [channels],
    set: ({ supply, nowMs }) => {
      supply.clearTrips(nowMs);
      return undefined;
    },
  },
];

export const channelListCommands: readonly Command[] = [
  ...commonCommands(channelListRules.zeroCode, [{ kind: 'channels', optional: true }]),
  ...setPointCommands,
  ...measureCommands,
  ...protectionCommands,
];

/** Layout C: regulation in OPERation, trips in QUEStionable. */
export function refreshChannelListStatus({ supply, status, nowMs }: ScpiDevice): void {
  const regulation = supply.regulationShown(nowMs);
  let operation = 0;
  if (regulation === 'constantVoltage') operation |= 256;
  if (regulation === 'constantCurrent') operation |= 1024;
  let questionable = 0;
  if (supply.tripped('overVoltage', nowMs)) questionable |= 1;
  if (supply.tripped('overCurrent', nowMs)) questionable |= 2;
  status.operation.update(operation);
  status.questionable.update(questionable);
}
