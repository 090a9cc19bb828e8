/** What stays as it is in the settings of a tank while a run is on it: its name, its lines, its sensors. */

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

function refused(field: string, { name }: TankSettings, what: string): Problem {
  const bound = 'changed when the run has ended';
  const message = `${field} ${what} while a run is on ${name}. Change it when the run has ended.`;
  return { field, value: 'not changed', bound, message };
}

/** Throws a ProblemError where a tank with a run on it would be another one after the changes. */
export function keepUnderRun(
  before: Settings,
  after: Settings,
  running: ReadonlySet<string>,
): void {
  const problems = before.tanks.flatMap((tank, index): readonly Problem[] => {
    if (!running.has(tank.id)) return [];
    const field = `tanks[${index}]`;
    const then = after.tanks.find(({ id }) => id === tank.id);
    if (then === undefined) return [refused(field, tank, 'cannot be taken out')];
    return places.flatMap(([place, of]) =>
      JSON.stringify(of(tank)) === JSON.stringify(of(then))
        ? []
        : [refused(`${field}.${place}`, tank, 'cannot be changed')],
    );
  });
  const [first] = problems;
  if (first !== undefined) throw new ProblemError('refused', first.message, problems);
}
