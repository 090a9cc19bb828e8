/**
 * The `scpi-subsystem` language: SCPI as a linear laboratory supply speaks it, with status layout A
 * (QUEStionable bit 0 current regulation, bit 1 voltage regulation, bit 9 and 10 tripped). Protections
 * are switched by STATe, as in the SOURce subsystem of SCPI-1999 volume 2.
 */

import { commonCommands } from './common-commands.ts';
import { fixedDecimals } from './identity.ts';
import type { Bounds, Command, LanguageRules, ParameterType, ScpiDevice } from './table.ts';

export const subsystemRules: LanguageRules = {
  compound: true,
  units: true,
  interrupts: true,
  zeroCode: '0',
};

type DeviceBounds = (device: ScpiDevice) => Bounds;

export const voltsBounds: DeviceBounds = ({ supply: { model } }) => ({
  min: 0,
  max: model.maxVolts,
  def: model.startVolts,
});
export const ampsBounds: DeviceBounds = ({ supply: { model } }) => ({
  min: 0,
  max: model.maxAmps,
  def: model.startAmps,
});
export const overVoltageBounds: DeviceBounds = ({ supply }) => ({
  min: 0.1,
  max: supply.maxOverVoltageVolts,
  def: supply.maxOverVoltageVolts,
});
const overCurrentBounds: DeviceBounds = ({ supply }) => ({
  min: 0.01,
  max: supply.maxOverCurrentAmps,
  def: supply.maxOverCurrentAmps,
});

function numeric(unit: 'V' | 'A', bounds: DeviceBounds): ParameterType {
  return { kind: 'numeric', unit, bounds };
}
function limit(bounds: DeviceBounds): ParameterType {
  return { kind: 'limit', bounds };
}
function voltsText({ supply }: ScpiDevice, volts: number): string {
  return volts.toFixed(supply.model.voltsDigits);
}
function ampsText({ supply }: ScpiDevice, amps: number): string {
  return amps.toFixed(supply.model.ampsDigits);
}

const level = '[:LEVel][:IMMediate][:AMPLitude]';

const setPointCommands: readonly Command[] = [
  {
    pattern: `[SOURce#]:VOLTage${level}`,
    parameters: [numeric('V', voltsBounds)],
    askParameters: [limit(voltsBounds)],
    set: ({ supply, nowMs }, [volts = 0]) => {
      supply.setVoltsTo(volts, nowMs);
      return undefined;
    },
    ask: (device, [asked]) => voltsText(device, asked ?? device.supply.setVolts),
  },
  {
    pattern: `[SOURce#]:CURRent${level}`,
    parameters: [numeric('A', ampsBounds)],
    askParameters: [limit(ampsBounds)],
    set: ({ supply, nowMs }, [amps = 0]) => {
      supply.setAmpsTo(amps, nowMs);
      return undefined;
    },
    ask: (device, [asked]) => ampsText(device, asked ?? device.supply.setAmps),
  },
  {
    pattern: 'OUTPut#[:STATe]',
    parameters: [{ kind: 'boolean' }],
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
    ask: ({ supply, nowMs }) => fixedDecimals(supply.measureVolts(nowMs), supply.model.voltsDigits),
  },
  {
    pattern: 'MEASure[:SCALar]:CURRent[:DC]',
    ask: ({ supply, nowMs }) => fixedDecimals(supply.measureAmps(nowMs), supply.model.ampsDigits),
  },
];

const protectionCommands: readonly Command[] = [
  {
    pattern: '[SOURce#]:VOLTage:PROTection[:LEVel]',
    parameters: [numeric('V', overVoltageBounds)],
    askParameters: [limit(overVoltageBounds)],
    set: ({ supply, nowMs }, [volts = 0]) => {
      supply.setOverVoltageTo(volts, nowMs);
      return undefined;
    },
    ask: (device, [asked]) => voltsText(device, asked ?? device.supply.overVoltageVolts),
  },
  {
    pattern: '[SOURce#]:VOLTage:PROTection:STATe',
    parameters: [{ kind: 'boolean' }],
    set: ({ supply, nowMs }, [on = 0]) => {
      supply.enableOverVoltage(on === 1, nowMs);
      return undefined;
    },
    ask: ({ supply }) => (supply.overVoltageEnabled ? '1' : '0'),
  },
  {
    pattern: '[SOURce#]:VOLTage:PROTection:TRIPped',
    ask: ({ supply, nowMs }) => (supply.tripped('overVoltage', nowMs) ? '1' : '0'),
  },
  {
    pattern: '[SOURce#]:CURRent:PROTection[:LEVel]',
    parameters: [numeric('A', overCurrentBounds)],
    askParameters: [limit(overCurrentBounds)],
    set: ({ supply, nowMs }, [amps = 0]) => {
      supply.setOverCurrentTo(amps, nowMs);
      return undefined;
    },
    ask: (device, [asked]) => ampsText(device, asked ?? device.supply.overCurrentAmps),
  },
  {
    pattern: '[SOURce#]:CURRent:PROTection:STATe',
    parameters: [{ kind: 'boolean' }],
    set: ({ supply, nowMs }, [on = 0]) => {
      supply.enableOverCurrent(on === 1, nowMs);
      return undefined;
    },
    ask: ({ supply }) => (supply.overCurrentEnabled ? '1' : '0'),
  },
  {
    pattern: '[SOURce#]:CURRent:PROTection:TRIPped',
    ask: ({ supply, nowMs }) => (supply.tripped('overCurrent', nowMs) ? '1' : '0'),
  },
  {
    pattern: 'OUTPut#:PROTection:CLEar',
    set: ({ supply, nowMs }) => {
      supply.clearTrips(nowMs);
      return undefined;
    },
  },
];

export const subsystemCommands: readonly Command[] = [
  ...commonCommands(subsystemRules.zeroCode, []),
  ...setPointCommands,
  ...measureCommands,
  ...protectionCommands,
];

/** Layout A: no bit while the output is off, both regulation bits would be "unregulated". */
export function refreshSubsystemStatus({ supply, status, nowMs }: ScpiDevice): void {
  const regulation = supply.regulationShown(nowMs);
  let condition = 0;
  if (regulation === 'constantCurrent') condition |= 1;
  if (regulation === 'constantVoltage') condition |= 2;
  if (supply.tripped('overVoltage', nowMs)) condition |= 512;
  if (supply.tripped('overCurrent', nowMs)) condition |= 1024;
  status.questionable.update(condition);
}
