/** Commands that both SCPI languages share: IEEE 488.2's mandatory thirteen, SYSTem and STATus. */

import { fourFieldIdentity } from './identity.ts';
import type { RegisterGroup } from './status.ts';
import type { Bounds, Command, ParameterType, ScpiDevice } from './table.ts';

function wholeNumber(max: number): ParameterType {
  const bounds: Bounds = { min: 0, max, def: 0 };
  return { kind: 'numeric', unit: 'none', bounds: () => bounds };
}

const mask8 = wholeNumber(255);
const mask16 = wholeNumber(65_535);

/** The mandatory common commands (from memory of IEEE 488.2 section 10). */
const mandatoryCommands: readonly Command[] = [
  {
    pattern: '*CLS',
    set: ({ status, errors }) => {
      status.clear();
      errors.clear();
      return undefined;
    },
  },
  {
    pattern: '*ESE',
    parameters: [mask8],
    set: ({ status }, [mask = 0]) => {
      status.eventEnable = mask;
      return undefined;
    },
    ask: ({ status }) => String(status.eventEnable),
  },
  { pattern: '*ESR', ask: ({ status }) => String(status.takeEvent()) },
  { pattern: '*IDN', ask: (device) => fourFieldIdentity(device.supply) },
  {
    pattern: '*OPC',
    // Nothing here runs beside the command that follows it, so it is always complete.
    set: ({ status }) => {
      status.noteComplete();
      return undefined;
    },
    ask: () => '1',
  },
  {
    pattern: '*RST',
    set: ({ supply, nowMs }) => {
      supply.reset(nowMs);
      return undefined;
    },
  },
  {
    pattern: '*SRE',
    parameters: [mask8],
    set: ({ status }, [mask = 0]) => {
      // Bit 6 is the summary itself and cannot ask for service.
      status.serviceEnable = mask & ~64;
      return undefined;
    },
    ask: ({ status }) => String(status.serviceEnable),
  },
  {
    pattern: '*STB',
    ask: ({ status, errors, messageWaits }) =>
      String(status.statusByte(!errors.empty, messageWaits)),
  },
  { pattern: '*TST', ask: () => '0' },
  { pattern: '*WAI', set: () => undefined },
];

function registerCommands(
  name: string,
  group: (device: ScpiDevice) => RegisterGroup,
  channels: readonly ParameterType[],
): Command[] {
  return [
    {
      pattern: `STATus:${name}[:EVENt]`,
      askParameters: channels,
      ask: (device) => String(group(device).takeEvent()),
    },
    {
      pattern: `STATus:${name}:CONDition`,
      askParameters: channels,
      ask: (device) => String(group(device).condition),
    },
    {
      pattern: `STATus:${name}:ENABle`,
      parameters: [mask16, ...channels],
      askParameters: channels,
      set: (device, [mask = 0]) => {
        group(device).enable = mask;
        return undefined;
      },
      ask: (device) => String(group(device).enable),
    },
  ];
}

function remote(to: ScpiDevice['remote']): NonNullable<Command['set']> {
  return (device) => {
    device.remote = to;
    return undefined;
  };
}

/**
 * The shared table. `channels` is appended to the STATus commands: empty, or an optional channel
 * list. SYSTem:REMote, :LOCal and :RWLock are not in SCPI-1999; they are what such supplies
 * usually have.
 */
export function commonCommands(
  zeroCode: string,
  channels: readonly ParameterType[],
): readonly Command[] {
  return [
    ...mandatoryCommands,
    { pattern: 'SYSTem:ERRor[:NEXT]', ask: ({ errors }) => errors.next(zeroCode) },
    { pattern: 'SYSTem:VERSion', ask: () => '1999.0' },
    { pattern: 'SYSTem:REMote', set: remote('remote') },
    { pattern: 'SYSTem:LOCal', set: remote('local') },
    { pattern: 'SYSTem:RWLock', set: remote('locked') },
    { pattern: 'SYSTem:BEEPer[:IMMediate]', set: () => undefined },
    {
      pattern: 'STATus:PRESet',
      set: ({ status }) => {
        status.preset();
        return undefined;
      },
    },
    ...registerCommands('OPERation', ({ status }) => status.operation, channels),
    ...registerCommands('QUEStionable', ({ status }) => status.questionable, channels),
  ];
}
