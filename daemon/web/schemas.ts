/** Shapes that only HTTP needs: parts as data, the settings as they may be shown, health, queries. */

import * as z from 'zod/mini';
import { _default as withDefault } from 'zod/mini';
import { alertChannelSchema, deliverySchema } from '../wire/alerts.ts';
import { tankSnapshotSchema } from '../wire/bench.ts';
import { commandAnswerSchema, portSchema } from '../wire/command.ts';
import { interruptedRunSchema } from '../wire/interrupted.ts';
import { runResults } from '../wire/log.ts';
import { materialMatchSchema, materialSchema } from '../wire/materials.ts';
import { drawingSchema } from '../wire/measured-piece.ts';
import { bathSchema } from '../wire/plan.ts';
import { planChangeSchema, runNoteSchema } from '../wire/run-book.ts';
import { sensorTraceSchema } from '../wire/sensors.ts';
import {
  alarmSchema,
  eventRowSchema,
  readingRowSchema,
  runIdSchema,
  runSummarySchema,
} from '../wire/run.ts';
import { sessionViewSchema } from '../wire/session.ts';
import { gaugeTableSchema, ringTableSchema } from '../wire/sizes.ts';

const finite = z.number();

export const tankIdSchema = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));
/** Below zero for an alarm that is shown before the disk has it. */
export const alarmIdSchema = z.pipe(
  wholeNumber(Number.MIN_SAFE_INTEGER, Number.MAX_SAFE_INTEGER, /^-?\d{1,16}$/),
  z.number().check(z.refine((id) => id !== 0, 'not 0')),
);
/** Number of an entry of a ledger. */
export const entryIdSchema = wholeNumber(1, Number.MAX_SAFE_INTEGER);
/** What stop, demo and acknowledge take. */
export const emptyBodySchema = z.strictObject({});

/** A whole number that arrives as text, in a query or a path. */
function wholeNumber(min: number, max: number, form = /^\d{1,16}$/) {
  return z.pipe(
    z.pipe(
      z.string().check(z.regex(form, 'a whole number')),
      z.transform((text) => Number(text)),
    ),
    z.int().check(z.gte(min), z.lte(max)),
  );
}

export const runsQuerySchema = z.strictObject({
  tank: z.optional(tankIdSchema),
  /** Only runs armed before this wall time, ms since the epoch. */
  before: z.optional(wholeNumber(0, Number.MAX_SAFE_INTEGER)),
  limit: withDefault(wholeNumber(1, 200), 50),
});
const wallTime = wholeNumber(0, Number.MAX_SAFE_INTEGER);
export const logQuerySchema = z
  .strictObject({
    /** Words of the piece's name, in any order, whatever their case and accents. */
    piece: z.optional(z.string().check(z.maxLength(80))),
    /** The bath by its whole name. */
    bath: z.optional(z.string().check(z.minLength(1), z.maxLength(200))),
    result: z.optional(z.enum(runResults)),
    tank: z.optional(tankIdSchema),
    /** Runs that were on in this stretch of wall time, ms since the epoch; `to` is not part of it. */
    from: z.optional(wallTime),
    to: z.optional(wallTime),
    /** How many of those found are left out first. */
    skip: withDefault(wholeNumber(0, 1_000_000), 0),
    limit: withDefault(wholeNumber(1, 100), 20),
  })
  .check(
    z.refine(({ from = 0, to = Infinity }) => to > from, {
      path: ['to'],
      error: 'later than from',
    }),
  );
export const stopQuerySchema = z.strictObject({
  /** Only this run is stopped, and no other that is on the tank by now. */
  runId: z.optional(runIdSchema),
});
export const readingsQuerySchema = z.strictObject({
  /** Ms from the start of the run. */
  from: withDefault(wholeNumber(0, Number.MAX_SAFE_INTEGER), 0),
  limit: withDefault(wholeNumber(1, 5000), 1000),
});
export const seriesQuerySchema = z.strictObject({
  buckets: withDefault(wholeNumber(1, 5000), 1000),
});
/** At most so many points of each curve, and so many values of each sensor. */
export const folderQuerySchema = z.strictObject({
  points: withDefault(wholeNumber(4, 5000), 1000),
});
export const sensorsQuerySchema = z.strictObject({
  /** At most so many values of each sensor, spikes among them; all of them where it is left out. */
  points: z.optional(wholeNumber(4, 5000)),
});
export const recentQuerySchema = z.strictObject({
  limit: withDefault(wholeNumber(1, 500), 100),
});

/** A list by ids that grow, the latest first. */
export const pagedQuerySchema = z.strictObject({
  limit: withDefault(wholeNumber(1, 500), 100),
  /** Only those with a smaller id. */
  before: z.optional(wholeNumber(1, Number.MAX_SAFE_INTEGER)),
});

export const piecesQuerySchema = z.strictObject({
  archived: withDefault(z.enum(['true', 'false']), 'false'),
  /** Only pieces whose newest version was saved before this wall time, ms since the epoch. */
  before: z.optional(wholeNumber(0, Number.MAX_SAFE_INTEGER)),
  limit: withDefault(wholeNumber(1, 1000), 200),
});
export const pieceQuerySchema = z.strictObject({
  /** The newest one where it is left out. */
  version: z.optional(wholeNumber(1, 1_000_000_000)),
});

export const materialSearchQuerySchema = z.strictObject({
  name: z.string().check(z.minLength(1), z.maxLength(80)),
  limit: withDefault(wholeNumber(1, 50), 8),
});
/** Ids with commas between them. */
export const materialIdsQuerySchema = z.strictObject({
  ids: z.string().check(z.regex(/^[^,]{1,64}(?:,[^,]{1,64}){0,49}$/, 'up to 50 ids with commas')),
});

export const tanksSchema = z.array(tankSnapshotSchema);
export const interruptedSchema = z.array(interruptedRunSchema);
export const bathsSchema = z.array(bathSchema);
export const materialsSchema = z.array(materialSchema);
export const materialMatchesSchema = z.array(materialMatchSchema);
export const ringTablesSchema = z.array(ringTableSchema);
export const gaugeTablesSchema = z.array(gaugeTableSchema);
export const portsSchema = z.array(portSchema);
export const runsSchema = z.array(runSummarySchema);
export const readingsSchema = z.array(readingRowSchema);
export const eventsSchema = z.array(eventRowSchema);
export const sensorsSchema = z.array(sensorTraceSchema);
export const alertChannelsSchema = z.array(alertChannelSchema);
/** As the settings allow it for a channel. */
export const channelNameSchema = z
  .string()
  .check(z.regex(/^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}$/, 'the name of a channel'));
export const deliveriesSchema = z.array(deliverySchema);
export const sessionsSchema = z.array(sessionViewSchema);
export const alarmsSchema = z.array(alarmSchema);
export const acceptedSchema = commandAnswerSchema.def.options[0];

/** Part definitions as data: what a form needs to ask for a part. */
const partDefinitionSchema = z.strictObject({
  kind: z.string(),
  group: z.enum(['wire', 'sheet', 'solid', 'setting', 'texture', 'support', 'other']),
  title: z.string(),
  explanation: z.string(),
  /** Usual half width of the range of its area, as a share of it. */
  areaUncertainty: finite,
  fields: z.array(
    z.strictObject({
      name: z.string(),
      label: z.string(),
      unit: z.enum(['mm', 'mm2', 'mm3', 'count', 'degrees', 'share', 'number']),
      min: finite,
      max: finite,
      typical: finite,
      help: z.string(),
      choices: z.optional(z.array(z.strictObject({ value: finite, label: z.string() }))),
    }),
  ),
});
export const partsSchema = z.array(partDefinitionSchema);
export const drawingsSchema = z.record(z.string(), drawingSchema);

const linkViewSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('serial'),
    path: z.string(),
    baudRate: z.nullable(z.int()),
  }),
  z.strictObject({ kind: z.literal('tcp'), host: z.string(), port: z.int() }),
  z.strictObject({ kind: z.literal('in-process') }),
]);

export const settingsViewSchema = z.strictObject({
  /** The file they came from, and how it was found. */
  file: z.string(),
  source: z.string(),
  studio: z.string(),
  port: z.int(),
  databaseFile: z.string(),
  tanks: z.array(
    z.strictObject({
      id: z.string(),
      name: z.string(),
      bath: z.string(),
      volumeLitres: finite,
      anodeAreaDm2: finite,
      maxAmps: finite,
      maxVolts: finite,
      maxHours: finite,
      pollHz: finite,
      timeScale: finite,
      rectifier: z.strictObject({
        driver: z.string(),
        dialect: z.string(),
        link: linkViewSchema,
        expectIdentity: z.nullable(z.string()),
        meterUncertainty: finite,
      }),
    }),
  ),
});
export type SettingsView = z.infer<typeof settingsViewSchema>;

export const healthSchema = z.strictObject({
  /** `ok` when control is there, the log can be read and every supply was heard of lately. */
  status: z.enum(['ok', 'degraded']),
  wireVersion: z.int(),
  wallMs: finite,
  uptimeSeconds: finite,
  controlAlive: z.boolean(),
  logReadable: z.boolean(),
  /** Pages on the live socket. */
  pages: z.int(),
  tanks: z.array(
    z.strictObject({
      id: z.string(),
      link: z.enum(['connecting', 'connected', 'lost']),
      output: z.enum(['confirmedOff', 'on', 'offRequested', 'unknown']),
      /** Since control last spoke of this tank. */
      silenceMs: finite,
      /** Age of the last reading when it was told; null before the first one. */
      readingAgeMs: z.nullable(finite),
    }),
  ),
});
export type Health = z.infer<typeof healthSchema>;

export const aliveSchema = z.strictObject({ status: z.literal('ok') });
export const readySchema = z.strictObject({
  ready: z.boolean(),
  /** What is missing, as sentences. */
  missing: z.array(z.string()),
});

export const notesSchema = z.array(runNoteSchema);
export const planChangesSchema = z.array(planChangeSchema);
