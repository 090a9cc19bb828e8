/** Commands from the page or the command line to the control process, and their answers. */

import * as z from 'zod/mini';
import { setBodySchema, setStepsSchema, triedSchema, tryBodySchema } from './bring-up.ts';
import { alertChannelSchema, alertReadinessSchema, confirmBodySchema } from './alerts.ts';
import { checkIdSchema, tankChecksSchema } from './checks.ts';
import { endBodySchema, interruptedRunSchema } from './interrupted.ts';
import { ledgerCommandSchemas, savedEntrySchema } from './ledger.ts';
import { libraryCommandSchemas, pieceSummarySchema, storedPictureSchema } from './library.ts';
import { planRequestSchema, problemSchema } from './plan.ts';
import { probeBodySchema } from './probe.ts';
import { changeLookSchema, noteBodySchema, runChangeSchema, runNoteSchema } from './run-book.ts';
import { alarmSchema, eventRowSchema, runIdSchema } from './run.ts';
import { tankSnapshotSchema } from './bench.ts';
import { savedWeighInSchema, weighInCommandSchema } from './weigh-in.ts';

const tankId = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));
/** Who asked, as it is written into the run's events. */
const by = z
  .string()
  .check(
    z.minLength(1),
    z.maxLength(80),
    z.regex(/^[^\p{C}\p{Zl}\p{Zp}]*$/u, 'text on one line, without control characters'),
  );
const sentence = z
  .string()
  .check(z.minLength(1), z.maxLength(200), z.regex(/^[^\p{C}\p{Zl}\p{Zp}]*$/u, 'one line of text'));
/**
 * The run and the version of it that the page was showing; an older one is refused, for turns of the
 * piece one from before the last change of turns.
 */
const onRun = { tankId, by, runId: runIdSchema, version: z.int().check(z.gte(0)) };

export const armBodySchema = z.strictObject({
  plan: planRequestSchema,
  /** Ids of the checklist items that the maker has confirmed; all are needed. */
  checklist: z.array(z.string()).check(z.maxLength(32)),
  /** The interrupted or stopped run to carry on from, or null. */
  continues: z.nullable(runIdSchema),
});

export const onRunBodySchema = z.strictObject({ runId: runIdSchema, version: onRun.version });

/** A start with what was seen before it. It is judged against the bench as it is then. */
export const startBodySchema = z.strictObject({
  ...onRunBodySchema.shape,
  /** Advice among the checks that was seen and set aside. */
  acknowledged: z.optional(z.array(checkIdSchema).check(z.maxLength(32))),
  /** A person stays with the bench; left out, nobody does. */
  attended: z.optional(z.boolean()),
  /** What was typed to leave a run alone that can call nobody. */
  confirmation: z.optional(z.string().check(z.maxLength(200))),
});

/** A change of target or density; `confirmed` once it was seen what it comes to. */
export const changeBodySchema = z.strictObject({
  ...onRunBodySchema.shape,
  change: runChangeSchema,
  confirmed: z.optional(z.boolean()),
});

/** The same, only looked at. */
export const lookBodySchema = z.strictObject({ change: runChangeSchema });

/** How often to be reminded of turning the piece, minutes; null is never. */
export const turningBodySchema = z.strictObject({
  ...onRunBodySchema.shape,
  everyMinutes: z.nullable(z.number()),
});

export const commandSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('snapshot') }),
  z.strictObject({ kind: z.literal('ports') }),
  /** Whether somebody would be told at night. */
  z.strictObject({ kind: z.literal('alert-readiness') }),
  /** Who signed in or was refused, for the events of the runs under way. */
  z.strictObject({ kind: z.literal('access-note'), note: sentence }),
  /** Who changed what in the settings, for the log. */
  z.strictObject({ kind: z.literal('settings-note'), note: sentence }),
  /** Starts the bench anew on its settings as they are now; refused while anything runs. */
  z.strictObject({ kind: z.literal('take-settings'), by }),
  /** A supply that no tank has yet: who is there, and set-points with its output off. */
  z.strictObject({ kind: z.literal('bring-up-try'), ...tryBodySchema.shape }),
  z.strictObject({ kind: z.literal('bring-up-set'), ...setBodySchema.shape }),
  z.strictObject({ kind: z.literal('alert-channels') }),
  /** Sends a test on one channel; the answer says what became of it. */
  z.strictObject({ kind: z.literal('alert-test'), channel: z.string().check(z.maxLength(40)), by }),
  /** A person types the code of a test that arrived. */
  z.strictObject({ kind: z.literal('alert-confirm'), ...confirmBodySchema.shape, by }),
  z.strictObject({ kind: z.literal('arm'), tankId, by, ...armBodySchema.shape }),
  z.strictObject({ kind: z.literal('disarm'), ...onRun }),
  z.strictObject({ kind: z.literal('start'), ...onRun, ...startBodySchema.shape }),
  /** A short look at a low current, or a drill of the limits; starts by itself once it is armed. */
  z.strictObject({ kind: z.literal('probe'), tankId, by, ...probeBodySchema.shape }),
  /** The checks before a start, as things are now. */
  z.strictObject({ kind: z.literal('checks'), tankId }),
  z.strictObject({ kind: z.literal('lift'), ...onRun }),
  z.strictObject({ kind: z.literal('put-back'), ...onRun }),
  /** Another target or density while the run is under way. */
  z.strictObject({ kind: z.literal('change'), ...onRun, ...changeBodySchema.shape }),
  /** What that would come to; changes nothing. */
  z.strictObject({ kind: z.literal('look-change'), tankId, ...lookBodySchema.shape }),
  z.strictObject({ kind: z.literal('turn-every'), ...onRun, ...turningBodySchema.shape }),
  z.strictObject({ kind: z.literal('turned'), ...onRun }),
  /** A note, a photo or both, on any run of the log. */
  z.strictObject({
    kind: z.literal('run-note'),
    runId: runIdSchema,
    by,
    note: noteBodySchema,
  }),
  /**
   * Always accepted: output off, whatever run there is or is not. With `runId`, the farewell of whoever
   * started that run: it leaves another run alone.
   */
  z.strictObject({ kind: z.literal('stop'), tankId, by, runId: z.optional(runIdSchema) }),
  /** Simulated tanks only: plan, arm and start the demo piece, hurried. */
  z.strictObject({ kind: z.literal('demo'), tankId, by }),
  z.strictObject({ kind: z.literal('acknowledge'), alarmId: z.int(), by }),
  /** An interrupted run is kept as it is and waits no more. No supply is touched. */
  z.strictObject({
    kind: z.literal('end-interrupted'),
    runId: runIdSchema,
    by,
    ...endBodySchema.shape,
  }),
  ...libraryCommandSchemas,
  ...ledgerCommandSchemas,
  weighInCommandSchema,
]);
export type Command = z.infer<typeof commandSchema>;

export const portSchema = z.strictObject({
  path: z.string(),
  stablePath: z.nullable(z.string()),
  description: z.string(),
});

/** The answer to a command. `problems` name field, value and bound; `reason` is the sentence to show. */
export const commandAnswerSchema = z.discriminatedUnion('ok', [
  z.strictObject({
    ok: z.literal(true),
    runId: z.optional(runIdSchema),
    version: z.optional(z.int()),
    /** For stop: whether the output was read back as off. */
    offConfirmed: z.optional(z.boolean()),
    message: z.optional(z.string()),
    tanks: z.optional(z.array(tankSnapshotSchema)),
    ports: z.optional(z.array(portSchema)),
    readiness: z.optional(alertReadinessSchema),
    channels: z.optional(z.array(alertChannelSchema)),
    checks: z.optional(tankChecksSchema),
    /** For the bring-up of a supply. */
    tried: z.optional(triedSchema),
    steps: z.optional(setStepsSchema),
    /** For the snapshot: what waits for a decision. */
    interrupted: z.optional(z.array(interruptedRunSchema)),
    /** For a look at a change: what it would come to. */
    change: z.optional(changeLookSchema),
    /** For a note: as it was written. */
    note: z.optional(runNoteSchema),
    /** For changes of the library: the piece as it now stands there. */
    piece: z.optional(pieceSummarySchema),
    /** For the part that completes a picture. */
    picture: z.optional(storedPictureSchema),
    /** For changes of a ledger: the entry as it now stands. */
    entry: z.optional(savedEntrySchema),
    /** For a weigh-in: as it was saved. */
    weighIn: z.optional(savedWeighInSchema),
  }),
  z.strictObject({
    ok: z.literal(false),
    code: z.enum(['invalid', 'refused', 'stale', 'notFound', 'busy', 'unavailable']),
    reason: z.string(),
    problems: z.array(problemSchema),
  }),
]);
export type CommandAnswer = z.infer<typeof commandAnswerSchema>;

/** The control socket: one JSON object a line. Requests carry an id and a key that makes them idempotent. */
export const controlRequestSchema = z.strictObject({
  id: z.int(),
  key: z.string().check(z.minLength(1), z.maxLength(100)),
  command: commandSchema,
});
export type ControlRequest = z.infer<typeof controlRequestSchema>;

export const controlMessageSchema = z.discriminatedUnion('type', [
  z.strictObject({ type: z.literal('answer'), id: z.int(), answer: commandAnswerSchema }),
  z.strictObject({ type: z.literal('tank'), tank: tankSnapshotSchema }),
  /** All that waits for a decision, anew at each change. */
  z.strictObject({ type: z.literal('interrupted'), runs: z.array(interruptedRunSchema) }),
  z.strictObject({ type: z.literal('event'), event: eventRowSchema }),
  z.strictObject({ type: z.literal('alarm'), alarm: alarmSchema }),
]);
export type ControlMessage = z.infer<typeof controlMessageSchema>;
