/** The strict schema of a sensor: a thermometer or a level sensor that sends a number a line. */

import { z } from 'zod';
import { bounded, patterned, text, wholeNumber } from './fields.ts';

const serialSchema = z.strictObject({
  kind: z.literal('serial'),
  path: patterned(
    /^(?:\/[^\p{Cc}]{1,1023}|(?:\\\\\.\\)?COM[1-9][0-9]{0,2})$/iu,
    'a full device path such as /dev/serial/by-id/usb-… or COM3',
    'The device of the sensor; not the one of the supply.',
  ),
  baudRate: wholeNumber(300, 4_000_000, 'Bits a second.').default(9600),
});

const tcpSchema = z.strictObject({
  kind: z.literal('tcp'),
  host: patterned(
    /^[A-Za-z0-9](?:[A-Za-z0-9._:%-]{0,252})$|^::1$/,
    'a host name or an address',
    'Name or address of the sensor on the network.',
  ),
  port: wholeNumber(1, 65_535, 'TCP port on which it sends its lines.'),
});

const limitSchema = z
  .strictObject({
    value: bounded(-100_000, 100_000, '', 'The limit, in the unit of the sensor.'),
    action: z
      .enum(['alarm', 'trip'])
      .default('alarm')
      .describe('alarm calls a person; trip switches the output off as well.'),
  })
  .optional()
  .transform((limit) => limit ?? null);

/** A sensor as it stands in the settings. */
export const sensorSchema = z
  .strictObject({
    id: patterned(
      /^[A-Za-z0-9_-]{1,32}$/,
      '1 to 32 letters, digits, - or _',
      'Short name of the sensor in the log; keep it once runs are recorded.',
    ),
    name: text(40, 'The name shown on the page.'),
    kind: z.enum(['temperature', 'level']).describe('What it measures of the bath.'),
    unit: text(8, 'The unit as it is shown, such as °C, mm or %.'),
    link: z
      .discriminatedUnion('kind', [serialSchema, tcpSchema])
      .describe('How the sensor is reached. It is only listened to.'),
    scale: bounded(-1e6, 1e6, '', 'The number on the line is multiplied by this.').default(1),
    offset: bounded(-100_000, 100_000, '', 'Added after that.').default(0),
    low: limitSchema.describe('Below this; left out, there is no such limit.'),
    high: limitSchema.describe('Above this; left out, there is no such limit.'),
    hysteresis: bounded(
      0,
      1_000,
      '',
      'How far a value has to come back inside a limit to be well again.',
    ).default(0.5),
    staleAfterSeconds: bounded(
      2,
      3_600,
      's',
      'Without a value for this long the sensor counts as missing.',
    ).default(30),
    missing: z
      .enum(['alarm', 'trip'])
      .default('alarm')
      .describe('What a missing sensor does to a run; trip only where the bath cannot do without.'),
  })
  .refine(({ low, high }) => low === null || high === null || low.value < high.value, {
    path: ['low', 'value'],
    error: 'below high.value',
  });

/** The keys of a sensor at its place in the settings, for "did you mean". */
export function sensorKeys(place: string): Record<string, readonly string[]> {
  return {
    [place]: Object.keys(sensorSchema.shape),
    [`${place}.link`]: ['kind', 'path', 'baudRate', 'host', 'port'],
    [`${place}.low`]: ['value', 'action'],
    [`${place}.high`]: ['value', 'action'],
  };
}
