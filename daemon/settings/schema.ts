/** The strict schema of bench.toml: each key, its bounds, and the sentence that editors show. */

import { isIP } from 'node:net';
import { z } from 'zod';
import { alertKeys, alertsSchema } from './alerts-schema.ts';
import { bounded, patterned, text, wholeNumber } from './fields.ts';
import type {
  LinkSettings,
  RectifierSettings,
  SensorSettings,
  Settings,
  TankSettings,
  WebSettings,
} from './model.ts';
import { sensorKeys, sensorSchema } from './sensor-schema.ts';

const fileName = patterned(
  /^(?!~)\P{Cc}{1,1024}$/u,
  'a path written out in full or from this file on ("~" is not understood)',
  'A file of its own for this bench; left out, it lies in the state folder of the user.',
);

const tlsFile = (description: string) =>
  patterned(
    /^(?!~)\P{Cc}{1,1024}$/u,
    'a path written out in full or from this file on ("~" is not understood)',
    description,
  );

const tlsSchema = z.strictObject({
  certFile: tlsFile('Certificate in PEM, with those that lead to its issuer after it.'),
  keyFile: tlsFile('Its private key in PEM, readable by the user of Nightbath only.'),
  hstsDays: wholeNumber(
    0,
    730,
    'Days for which browsers ask for nothing but https under this name; 0 leaves them free.',
  ).default(0),
});

const ipAddress = 'an address in numbers such as 192.168.1.20 or fd00::20';

const webSchema = z.strictObject({
  listen: z
    .array(
      z
        .string({ error: ipAddress })
        .refine((address) => isIP(address) !== 0 && !address.includes('%'), { error: ipAddress }),
      { error: 'a list of addresses' },
    )
    .max(8, { error: 'a list of at most 8 addresses' })
    .default([])
    .describe(
      'Addresses of this machine on the network at which the page is served too. Needs a passphrase.',
    ),
  hostNames: z
    .array(
      patterned(
        /^(?=.{1,253}$)[a-z0-9](?:[a-z0-9-]{0,62})(?:\.[a-z0-9](?:[a-z0-9-]{0,62}))*$/,
        'a name in small letters such as bench.home.arpa, without scheme and port',
        'A name under which browsers ask for the page.',
      ),
      { error: 'a list of names' },
    )
    .max(8, { error: 'a list of at most 8 names' })
    .default([])
    .describe('Names under which the page may be asked for, beside its addresses.'),
  signInHere: z
    .boolean({ error: 'true or false' })
    .default(false)
    .describe('Whether a browser on this machine has to sign in too.'),
  tls: tlsSchema
    .optional()
    .transform((tls) => tls ?? null)
    .describe('Certificate and key for https; left out, the page is plain http.'),
});

const serialLinkSchema = z.strictObject({
  kind: z.literal('serial'),
  path: patterned(
    /^(?:\/[^\p{Cc}]{1,1023}|(?:\\\\\.\\)?COM[1-9][0-9]{0,2})$/iu,
    'a full device path such as /dev/serial/by-id/usb-… or COM3',
    'The device. The names under /dev/serial/by-id/ stay the same when cables are moved.',
  ),
  baudRate: wholeNumber(300, 4_000_000, "Bits a second; left out, it is the dialect's own.")
    .optional()
    .transform((rate) => rate ?? null),
});

const tcpLinkSchema = z.strictObject({
  kind: z.literal('tcp'),
  host: patterned(
    /^[A-Za-z0-9](?:[A-Za-z0-9._:%-]{0,252})$|^::1$/,
    'a host name or an address',
    'Name or address of the supply on the network.',
  ),
  port: wholeNumber(1, 65_535, 'TCP port of its SCPI socket.'),
});

const inProcessLinkSchema = z.strictObject({ kind: z.literal('in-process') });

const linkSchema = z
  .discriminatedUnion('kind', [serialLinkSchema, tcpLinkSchema, inProcessLinkSchema])
  .describe('How the supply is reached; in-process is the simulated one.');

const rectifierSchema = z.strictObject({
  driver: text(1024, 'scpi, or the path of a module with a driver of your own.').default('scpi'),
  dialect: patterned(
    /^[A-Za-z0-9_-]{1,64}$/,
    'the name of a dialect file without its ending',
    'How this supply words its commands: a file in dialects/, without .toml.',
  ),
  link: linkSchema,
  expectIdentity: text(
    200,
    'Text that the identity of the supply must hold; any other device is refused.',
  )
    .optional()
    .transform((identity) => identity ?? null),
  meterUncertainty: bounded(
    0,
    0.2,
    '',
    'Half width of the range of the ammeter as a share of its reading: 0.01 is plus or minus 1 %.',
  ).default(0.01),
  afterMains: z
    .enum(['off', 'on', 'unknown'], { error: '"off", "on" or "unknown"' })
    .optional()
    .describe('What its output does when the mains comes back, as you saw it.'),
  ammeterFactor: bounded(
    0.8,
    1.25,
    '',
    'What a reference meter shows divided by what the supply shows; left out, its meter is right.',
  ).optional(),
});

const unitsSchema = z
  .strictObject({
    density: z
      .enum(['A/dm2', 'A/ft2', 'A/in2'], { error: '"A/dm2", "A/ft2" or "A/in2"' })
      .default('A/dm2')
      .describe('How current densities are shown; typed with its unit, any of them is taken.'),
    length: z
      .enum(['mm', 'in'], { error: '"mm" or "in"' })
      .default('mm')
      .describe('How sizes of pieces are shown; typed with its unit, either is taken.'),
    wire: z
      .enum(['mm', 'awg', 'swg'], { error: '"mm", "awg" or "swg"' })
      .default('mm')
      .describe('The gauge told beside the diameter of a wire; mm tells each.'),
  })
  .describe('How the page shows figures. What is counted and kept is not touched by it.');

const tankSchema = z.strictObject({
  id: patterned(
    /^[A-Za-z0-9_-]{1,64}$/,
    '1 to 64 letters, digits, - or _',
    'Short name of the tank in addresses and in the log; keep it once runs are recorded.',
  ),
  name: text(80, 'The name shown on the page.'),
  bath: patterned(
    /^[A-Za-z0-9_-]{1,64}$/,
    'the name of a bath file without its ending',
    'What is in the tank: a file in baths/, without .toml.',
  ),
  volumeLitres: bounded(0.02, 2000, 'L', 'Bath in the tank, litres.'),
  anodeAreaDm2: bounded(0.01, 1000, 'dm2', 'Anode surface under the bath, dm2.'),
  maxAmps: bounded(
    0.001,
    500,
    'A',
    'Hard limit: no set-point above it ever reaches the supply. Take what leads and tank bear.',
  ),
  maxVolts: bounded(
    0.1,
    60,
    'V',
    'Hard limit: no set-point above it ever reaches the supply. 60 V is the end of what this tool drives.',
  ),
  maxHours: bounded(0.01, 336, 'h', 'Hard limit: no run on this tank lasts longer.'),
  pollHz: bounded(1, 20, 'a second', 'Looks at the supply each second.').default(4),
  timeScale: bounded(
    1,
    2000,
    '',
    'Times faster than the clock; above 1 only with the simulated supply.',
  ).default(1),
  rectifier: rectifierSchema,
  sensors: z
    .array(sensorSchema, { error: 'at most four tables [[tanks.sensors]]' })
    .max(4, { error: 'at most four tables [[tanks.sensors]]' })
    .optional()
    .describe('Lines on which a thermometer or a level sensor of this bath sends numbers.'),
});

const backupsSchema = z
  .strictObject({
    nightly: z
      .boolean({ error: 'true or false' })
      .default(true)
      .describe('Copies the log once a night, while no run is under way.'),
    keep: wholeNumber(1, 400, 'So many of the newest copies are kept, older ones removed.').default(
      7,
    ),
    folder: fileName
      .optional()
      .transform((folder) => folder ?? null)
      .describe(
        'Where the copies lie; left out, in backups beside the log. Another disk is better.',
      ),
  })
  .describe('Copies of the log that Nightbath makes by itself.');

/** The port of the page when the settings name none: the number of copper, and its molar mass. */
const defaultPort = 29_635;

export const settingsSchema = z
  .strictObject({
    studio: text(80, 'The name of the studio, shown on the page.'),
    server: z
      .strictObject({
        port: wholeNumber(
          0,
          65_535,
          'Port of the page on this machine; 0 takes a free one.',
        ).default(defaultPort),
      })
      .prefault({}),
    web: webSchema.prefault({}),
    units: unitsSchema.prefault({}),
    database: z
      .strictObject({ file: fileName.optional().transform((file) => file ?? null) })
      .prefault({}),
    backups: backupsSchema.prefault({}),
    alerts: alertsSchema.prefault({}),
    tanks: z
      .array(tankSchema, { error: 'one to eight tables [[tanks]]' })
      .min(1, { error: 'one to eight tables [[tanks]]' })
      .max(8, { error: 'one to eight tables [[tanks]]' }),
  })
  .describe('Settings of one electroforming bench.');

/** The keys known at a place, for "did you mean"; list indices are written `[]`. */
export const knownKeys: Readonly<Record<string, readonly string[]>> = {
  '': Object.keys(settingsSchema.shape),
  server: ['port'],
  web: Object.keys(webSchema.shape),
  'web.tls': Object.keys(tlsSchema.shape),
  units: Object.keys(unitsSchema.shape),
  database: ['file'],
  backups: Object.keys(backupsSchema.shape),
  ...alertKeys,
  'tanks[]': Object.keys(tankSchema.shape),
  'tanks[].rectifier': Object.keys(rectifierSchema.shape),
  'tanks[].rectifier.link': [
    ...new Set([
      ...Object.keys(serialLinkSchema.shape),
      ...Object.keys(tcpLinkSchema.shape),
      ...Object.keys(inProcessLinkSchema.shape),
    ]),
  ],
  ...sensorKeys('tanks[].sensors[]'),
};

// The schema and the model must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type SettingsChecks = [
  Same<z.output<typeof settingsSchema>, Settings>,
  Same<z.output<typeof webSchema>, WebSettings>,
  Same<z.output<typeof tankSchema>, TankSettings>,
  Same<z.output<typeof rectifierSchema>, RectifierSettings>,
  Same<z.output<typeof linkSchema>, LinkSettings>,
  Same<z.output<typeof sensorSchema>, SensorSettings>,
];
