/** What stays as it is in the settings of a tank until it is off for certain: its name, its lines, its sensors. */

import type { Settings } from '../../settings/model.ts';
import type { Problem } from '../../piece/model.ts';
import { ProblemError } from '../problem.ts';

type TankSettings = Settings['tanks'][number];

/** Places of a tank that say what a run under way talks to, and how it is called. */
const places: readonly (readonly [place: string, of: (tank: TankSettings) => unknown])[] = [
  ['name', ({ name }) => name],
  ['rectifier.link', ({ rectifier }) => rectifier.link],
  ['rectifier.dialect', ({ rectifier }) => rectifier.dialect],
  ['rectifier.expectIdentity', ({ rectifier }) => rectifier.expectIdentity],
  ['sensors', ({ sensors = [] }) => sensors],
];

function refused(field: string, what: string, why: string): Problem {
  const bound = 'changed when no run is on the tank and its output is read back as off';
  const message = `${field} ${what} ${why}. Change it when that is over.`;
  return { field, value: 'not changed', bound, message };
}

/**
 * Throws a ProblemError where a tank that has work to do, or an OFF to confirm, would be another one after
 * the changes: that OFF would go to another supply. `whyKept` is empty for a tank that may change.
 */
export function keepUnderRun(
  before: Settings,
  after: Settings,
  whyKept: (tankId: string) => string,
): void {
  const problems = before.tanks.flatMap((tank, index): readonly Problem[] => {
    const why = whyKept(tank.id);
    if (why === '') return [];
    const field = `tanks[${index}]`;
    const then = after.tanks.find(({ id }) => id === tank.id);
    if (then === undefined) return [refused(field, 'cannot be taken out', why)];
    return places.flatMap(([place, of]) =>
      JSON.stringify(of(tank)) === JSON.stringify(of(then))
        ? []
        : [refused(`${field}.${place}`, 'cannot be changed', why)],
    );
  });
  const [first] = problems;
  if (first !== undefined) throw new ProblemError('refused', first.message, problems);
}
