/** What the page may change of the settings: not what runs a program or reads a file of this computer. */

import type { SettingsChange } from '../../wire/settings.ts';
import type { Problem } from '../../piece/model.ts';
import { ProblemError } from '../problem.ts';

type Path = readonly (string | number)[];

const tank = [
  'id',
  'name',
  'bath',
  'volumeLitres',
  'anodeAreaDm2',
  'maxAmps',
  'maxVolts',
  'maxHours',
  'pollHz',
  'timeScale',
];
const rectifier = ['dialect', 'expectIdentity', 'meterUncertainty', 'afterMains', 'ammeterFactor'];
const link = ['kind', 'path', 'baudRate', 'host', 'port'];
const channel = [
  'name',
  'kind',
  'leastPriority',
  'host',
  'port',
  'security',
  'user',
  'password',
  'from',
  'to',
  'url',
  'format',
  'body',
  'priorityWords',
  'headers',
];

const patterns = (names: readonly string[], around: string): readonly string[] =>
  names.map((name) => `${around}.${name}`);

/** Places that anybody with control may change; a place stands for all that is inside of it. */
const open: ReadonlySet<string> = new Set([
  'studio',
  ...patterns(['density', 'length', 'wire'], 'units'),
  ...patterns(tank, 'tanks.#'),
  ...patterns(rectifier, 'tanks.#.rectifier'),
  ...patterns(link, 'tanks.#.rectifier.link'),
  'tanks.#.sensors',
  ...patterns(channel, 'alerts.channels.#'),
  'alerts.deadMan.url',
]);

/** Who gets in, and by which way, is for somebody at the bench's own machine. */
const hereOnly: ReadonlySet<string> = new Set([
  'server.port',
  'web.listen',
  'web.hostNames',
  'web.signInHere',
]);

/** What may be taken away as a whole. */
const removable = /^(?:tanks\.#|alerts\.channels\.#|alerts\.deadMan|tanks\.#\.sensors\.#)$/;

function pattern(path: Path): string {
  return path.map((step) => (typeof step === 'number' ? '#' : step)).join('.');
}

function fieldOf(path: Path): string {
  return path
    .map((step, index) =>
      typeof step === 'number' ? `[${step}]` : `${index === 0 ? '' : '.'}${step}`,
    )
    .join('');
}

interface Leaf {
  readonly path: Path;
  readonly value: unknown;
}

/** The places inside of a value that the tables above speak of. */
function leaves(path: Path, value: unknown): readonly Leaf[] {
  const name = pattern(path);
  const known = open.has(name) || hereOnly.has(name);
  if (known || typeof value !== 'object' || value === null) return [{ path, value }];
  const inner = Array.isArray(value)
    ? value.flatMap((one: unknown, index) => leaves([...path, index], one))
    : Object.entries(value).flatMap(([key, one]) => leaves([...path, key], one));
  return inner.length === 0 ? [{ path, value }] : inner;
}

function isWithin(path: Path, places: ReadonlySet<string>): boolean {
  return path.some((_, index) => places.has(pattern(path.slice(0, index + 1))));
}

function refused(path: Path, bound: string, why: string): Problem {
  const field = fieldOf(path);
  return { field, value: 'not changed', bound, message: `${field} ${why}` };
}

function judgeLeaf({ path, value }: Leaf, here: boolean): Problem | null {
  const name = pattern(path);
  // The built-in driver is the default; a path there would load a program.
  if (name === 'tanks.#.rectifier.driver' && value === 'scpi') return null;
  if (name === 'alerts.channels.#.kind' && value === 'command') {
    return refused(path, 'changed in the file', byHand('it starts a program of this computer'));
  }
  if (isWithin(path, hereOnly)) {
    if (here) return null;
    const why = 'can be changed only in a browser on the machine of the bench itself.';
    return refused(path, 'changed at the bench', why);
  }
  if (!isWithin(path, open)) {
    const reason = 'it names a file or a program of this computer, or is not known to the page';
    return refused(path, 'changed in the file', byHand(reason));
  }
  return null;
}

function byHand(reason: string): string {
  return `can be changed in the settings file only, by hand: ${reason}.`;
}

/** What may be changed of a bath; what it is, and its name in the settings, stay. */
const bathPlaces =
  /^(?:name|notes|window\.(?:min|typical|max)AmpsPerDm2|efficiency\.(?:value|uncertainty)|temperature\.(?:min|max)Celsius|conductivity\.siemensPerMetre|loading\.maxAmpsPerLitre|[a-z]+\.source)$/;

/** Throws a ProblemError for changes of a bath that are not the page's to make. */
export function judgeBathChanges(changes: readonly SettingsChange[]): void {
  const problems = changes.flatMap(({ kind, path }) =>
    kind === 'set' && bathPlaces.test(pattern(path))
      ? []
      : [refused(path, 'changed in the file', byHand('it says what the bath is'))],
  );
  const [first] = problems;
  if (first !== undefined)
    throw new ProblemError('forbidden', first.message, problems.slice(0, 20));
}

/** Throws a ProblemError for changes that are not the page's to make. */
export function judgeChanges(changes: readonly SettingsChange[], here: boolean): void {
  const problems = changes.flatMap((change): readonly Problem[] => {
    if (change.kind === 'remove') {
      if (removable.test(pattern(change.path))) return [];
      const problem = judgeLeaf({ path: change.path, value: undefined }, here);
      return problem === null ? [] : [problem];
    }
    const path = change.kind === 'add' ? [...change.path, 0] : change.path;
    return leaves(path, change.value).flatMap((leaf) => judgeLeaf(leaf, here) ?? []);
  });
  const [first] = problems;
  if (first !== undefined)
    throw new ProblemError('forbidden', first.message, problems.slice(0, 20));
}
