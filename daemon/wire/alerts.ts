/** Alerts as they cross the wire: whether somebody would be told at night, and by which channel. */

import * as z from 'zod/mini';

const finite = z.number();

/** Whether a bench that is left alone could reach a person. */
export const alertReadinessSchema = z.strictObject({
  /** Channels in the settings that reach beyond the bench itself. */
  outsideChannels: z.int().check(z.gte(0)),
  /** A person confirmed within seven days that a test arrived, on one of these at least. */
  confirmed: z.boolean(),
  /** The latest such confirmation, however old; null where there was none. */
  confirmedWallMs: z.nullable(finite),
  /** One sentence for a person: who would be told, or why a night alone is not recommended. */
  sentence: z.string(),
});
export type AlertReadiness = z.infer<typeof alertReadinessSchema>;

export const messageKinds = ['alarm', 'run-end', 'turn', 'test', 'sentinel'] as const;

/** What is said outside: made once, stored with its event, and sent as it is however often. */
export const alertMessageSchema = z.strictObject({
  /** Stands in every copy, so that one which arrives twice is seen to be the same. */
  id: z.string().check(z.regex(/^[a-z0-9-]{1,40}$/)),
  kind: z.enum(messageKinds),
  priority: z.enum(['stopped', 'act-soon', 'note']),
  tankId: z.nullable(z.string()),
  /** Wall ms since the epoch of this computer, not of a hurried tank. */
  createdWallMs: finite,
  title: z.string().check(z.minLength(1), z.maxLength(200)),
  text: z.string().check(z.maxLength(8000)),
  /** For tests: what a person types to say that it arrived. */
  code: z.nullable(z.string()),
});
export type AlertMessage = z.infer<typeof alertMessageSchema>;

/**
 * `waiting`: not delivered yet, tried again when due. `repeating`: delivered, said again until
 * somebody acknowledges. `withdrawn`: acknowledged, or its channel taken out of the settings, before
 * it was delivered. `given-up`: a day of tries failed.
 */
export const deliveryStates = [
  'waiting',
  'repeating',
  'delivered',
  'withdrawn',
  'given-up',
] as const;

/** One message on one channel, as the history of deliveries lists it. */
export const deliverySchema = z.strictObject({
  /** Grows with each new one; the history is paged by it. */
  id: z.int(),
  messageId: z.string(),
  kind: alertMessageSchema.shape.kind,
  priority: alertMessageSchema.shape.priority,
  tankId: z.nullable(z.string()),
  title: z.string(),
  createdWallMs: finite,
  channel: z.string(),
  state: z.enum(deliveryStates),
  /** Tries in all, and how many of them were taken by the channel. */
  tries: z.int(),
  deliveries: z.int(),
  dueWallMs: z.nullable(finite),
  deliveredWallMs: z.nullable(finite),
  /** Why the last try failed; null after one that did not. */
  lastError: z.nullable(z.string()),
  /** For tests: when a person said that it had arrived. */
  confirmedWallMs: z.nullable(finite),
});
export type Delivery = z.infer<typeof deliverySchema>;

/** A channel as the settings have it and as it has done so far; holds nothing secret. */
export const alertChannelSchema = z.strictObject({
  name: z.string(),
  kind: z.enum(['email', 'webhook', 'command', 'beeper']),
  /** Where it leads, as far as that may be shown. */
  target: z.string(),
  /** Reaches beyond the bench itself. */
  outside: z.boolean(),
  leastPriority: alertMessageSchema.shape.priority,
  /** Messages that are not settled yet. */
  waiting: z.int(),
  triedWallMs: z.nullable(finite),
  deliveredWallMs: z.nullable(finite),
  /** Why the last try failed; null after one that did not. */
  lastError: z.nullable(z.string()),
  /** The last test to this address that a person saw arrive. */
  confirmedWallMs: z.nullable(finite),
});
export type AlertChannel = z.infer<typeof alertChannelSchema>;

export const confirmBodySchema = z.strictObject({
  /** The four digits that stood in the test. */
  code: z.string().check(z.regex(/^\d{4}$/, 'the four digits of the test')),
});
