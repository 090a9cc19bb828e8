/** Code of the Plan page that is fetched when it is first wanted. */

import { LazyCode } from './lazy-code.ts';

/** The entries for a size of the piece at which a run is to end, and how they are read. */
export const sizeGoal = new LazyCode(async () => {
  const { sizeFields } = await import('./plan-size-fields.ts');
  const { finalSizeFrom } = await import('./plan-final-size.ts');
  return { sizeFields, finalSizeFrom };
});

/** What stands in the folds. */
export const details = new LazyCode(() => import('./plan-details.ts'));
