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
