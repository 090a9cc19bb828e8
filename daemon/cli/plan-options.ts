/** What the command line settles about a plan, over what the piece file says. */

import { readDensityText } from '../chemistry/density-text.ts';
import type { PieceDescription } from '../piece/model.ts';
import { numberNameOf, partNameOf } from '../piece/part-names.ts';
import type { FinalSizeTarget, PlainTarget, PlanQuestion, Target } from '../run/model.ts';
import type { PlanFile } from '../wire/plan-file.ts';
import { configOption, jsonOption, UsageError } from './command.ts';
import type { Call, CommandOption } from './command.ts';

/** Every option, in the order of the help. */
export const planOptions: Readonly<Record<string, CommandOption>> = {
  tank: { value: 'ID', help: "the tank to plan for, in place of the file's tankId" },
  bath: { value: 'ID', help: "the bath, in place of the file's or the tank's own" },
  paint: { value: 'NAME', help: 'what carries the current: silver, copper, graphite or none' },
  density: {
    value: 'D',
    help: 'current density with its unit, such as "0.1 A/in2"; A/dm2 without one; left out, the bath decides',
  },
  thickness: {
    value: 'T',
    help: 'stop at this mean thickness: 200, "200 um", "0.2 mm" or "8 mil"',
  },
  mass: { value: 'G', help: 'stop at this mass of metal, g' },
  charge: { value: 'AH', help: 'stop at this charge, A·h' },
  time: { value: 'H', help: 'stop after this time, h' },
  'final-size': {
    value: 'P.S=MM',
    help: 'end at a size of a part: "Shank.insideDiameterMm=16.5"; P is its label, or its number from 1',
  },
  'done-by': {
    value: 'TIME',
    help: 'be done by this local time, 07:00 or "2026-11-26 07:00", if started now; solves the density',
  },
  'time-zone': { value: 'ZONE', help: "the zone of --done-by, in place of this machine's" },
  contacts: { value: 'N', help: 'how many places carry current into the paint' },
  farthest: { value: 'MM', help: 'how far the farthest painted place is from its contact, mm' },
  'accept-closure': {
    value: 'NAMES',
    help: 'parts whose openings may close, by label or number from 1, commas between them',
  },
  'accept-material': {
    value: 'IDS',
    help: 'materials that give off a poison in the bath and may be in it, commas between them',
  },
  trickle: { value: 'D', help: 'after the target, keep it at this small density' },
  'trickle-hours': { value: 'H', help: 'the longest that the trickle lasts, h; 8 when left out' },
  compare: { value: 'D,D,D', help: 'compare two or three densities side by side: 1,1.5,2' },
  schema: { help: 'print the JSON Schema of FILE and do no more' },
  config: configOption,
  json: jsonOption,
};

const usualTrickleHours = 8;

function positiveNumber(call: Call, name: string): number | undefined {
  const text = call.values[name];
  if (text === undefined) return undefined;
  const value = /^\d{1,9}(?:\.\d{1,9})?$|^\.\d{1,9}$/.test(text.trim()) ? Number(text) : NaN;
  if (value > 0) return value;
  throw new UsageError(`--${name} is "${text}"; it must be a number above 0, such as 1.5.`);
}

/** A density option in A/dm2, in whatever unit it was given. */
function densityOf(name: string, text: string): number {
  const reading = readDensityText(text);
  if (reading.ok) return reading.density.ampsPerDm2;
  throw new UsageError(`--${name} is "${text}"; it must be ${reading.bound}. ${reading.advice}`);
}

const micrometresPer: Readonly<Record<string, number>> = {
  '': 1,
  um: 1,
  µm: 1,
  μm: 1,
  mm: 1000,
  mil: 25.4,
};

function micrometresOf(text: string): number {
  const [, number = '', unit = ''] = /^\s*(\d{0,9}\.?\d{0,9})\s*([a-zµμ]*)\s*$/i.exec(text) ?? [];
  const value = Number(number || 'none') * (micrometresPer[unit.toLowerCase()] ?? NaN);
  if (value > 0) return value;
  throw new UsageError(
    `--thickness is "${text}"; it must be a number above 0 in um (or none), mm or mil.`,
  );
}

function finalSizeOf(text: string, piece: PieceDescription): FinalSizeTarget {
  const parts = /^(.+)\.([A-Za-z]\w*)=(\d{1,6}(?:\.\d{1,6})?)$/.exec(text.trim());
  if (parts === null) {
    throw new UsageError(
      `--final-size is "${text}"; it must be PART.SIZE=MM, such as "Shank.insideDiameterMm=16.5".`,
    );
  }
  const [, name = '', dimension = '', mm = ''] = parts;
  const names = piece.parts.map((_, index) => partNameOf(piece, index));
  const labelled = names.findIndex((known) => known.toLowerCase() === name.trim().toLowerCase());
  const partIndex = labelled >= 0 ? labelled : Number(/^\d{1,3}$/.test(name) ? name : 0) - 1;
  if (names[partIndex] === undefined) {
    throw new UsageError(
      `--final-size names the part "${name}"; the piece has ${names.join(', ')}, or their numbers from 1.`,
    );
  }
  return { kind: 'final-size', partIndex, dimension, mm: Number(mm) };
}

const targetNames = ['thickness', 'mass', 'charge', 'time', 'final-size'] as const;

function targetOption(
  call: Call,
  piece: PieceDescription,
): PlainTarget | FinalSizeTarget | undefined {
  const given = targetNames.filter((name) => call.values[name] !== undefined);
  if (given.length > 1) {
    const all = given.map((name) => `--${name}`).join(' and ');
    throw new UsageError(`${all} cannot both end the run. Give one of them.`);
  }
  const [name] = given;
  if (name === undefined) return undefined;
  const text = call.values[name] ?? '';
  const number = () => positiveNumber(call, name) ?? 0;
  switch (name) {
    case 'thickness':
      return { kind: 'thickness', micrometres: micrometresOf(text) };
    case 'mass':
      return { kind: 'mass', grams: number() };
    case 'charge':
      return { kind: 'charge', ampHours: number() };
    case 'time':
      return { kind: 'time', hours: number() };
    default:
      return finalSizeOf(text, piece);
  }
}

function targetOf(call: Call, file: PlanFile): Target {
  const given = targetOption(call, file.piece) ?? file.target;
  const localTime = call.values['done-by'];
  if (given === undefined) {
    throw new UsageError(
      'Say what ends the run: --thickness, --mass, --charge, --time or --final-size, or a target in the file.',
    );
  }
  const timeZone = call.values['time-zone'];
  const zone = timeZone === undefined ? {} : { timeZone };
  if (localTime === undefined) {
    return given.kind === 'done-by' ? { ...given, ...zone } : given;
  }
  const goal = given.kind === 'done-by' ? given.goal : given;
  if (goal.kind === 'time') {
    throw new UsageError(
      '--done-by and a target of hours cannot both end the run. Give one of them.',
    );
  }
  return { kind: 'done-by', goal, localTime, ...zone };
}

function contactOf(call: Call, file: PlanFile): Pick<PlanQuestion, 'contact'> {
  const points = positiveNumber(call, 'contacts');
  const farthestMm = positiveNumber(call, 'farthest');
  const { contact } = file;
  if (points === undefined && farthestMm === undefined) return { contact };
  const farthest = farthestMm ?? contact?.farthestMm;
  if (farthest === undefined) {
    throw new UsageError('--contacts needs --farthest: how far the farthest place is, mm.');
  }
  return { contact: { points: points ?? contact?.points ?? 1, farthestMm: farthest } };
}

function trickleOf(call: Call, file: PlanFile): PlanQuestion['trickle'] {
  const text = call.values['trickle'];
  const hours = positiveNumber(call, 'trickle-hours');
  if (text === undefined) {
    const { trickle = null } = file;
    if (hours === undefined) return trickle;
    if (trickle === null) throw new UsageError('--trickle-hours needs --trickle: its density.');
    return { ...trickle, maxHours: hours };
  }
  const densityAmpsPerDm2 = densityOf('trickle', text);
  return { densityAmpsPerDm2, maxHours: hours ?? usualTrickleHours };
}

function paintOf(call: Call, file: PlanFile): PlanQuestion['paint'] {
  const text = call.values['paint'] ?? file.paint;
  switch (text) {
    case 'silver':
    case 'copper':
    case 'graphite':
    case 'none':
      return text;
    case undefined:
      throw new UsageError(
        'Say what carries the current: --paint silver, copper, graphite or none.',
      );
    default:
      throw new UsageError(`--paint is "${text}"; it must be silver, copper, graphite or none.`);
  }
}

/** Most names between commas that one label is looked for in. */
const mostPieces = 20;

/**
 * The parts named between commas. A label may hold commas itself, so the longest run of pieces that
 * is one goes first; a number alone is that part, and what fits nothing is left to the planner.
 */
function acceptedNames(
  text: string | undefined,
  { parts }: PieceDescription,
): readonly string[] | undefined {
  if (text === undefined) return undefined;
  const labels = parts.map(({ label }) => label.trim().toLowerCase());
  const known = (name: string) => labels.includes(name.trim().toLowerCase());
  const pieces = text.split(',');
  const names: string[] = [];
  let from = 0;
  while (from < pieces.length) {
    let until = Math.min(pieces.length, from + mostPieces);
    while (until > from + 1 && !known(pieces.slice(from, until).join(','))) until -= 1;
    const name = pieces.slice(from, until).join(',').trim();
    names.push(!known(name) && /^\d{1,3}$/.test(name) ? numberNameOf(Number(name) - 1) : name);
    from = until;
  }
  return names;
}

/** The question of a file and a command line together; throws a UsageError that names the option. */
export function questionOf(
  call: Call,
  file: PlanFile,
  tankId: string,
  tankBathId: string | undefined,
): PlanQuestion {
  const { densityAmpsPerDm2, densityTyped } = file;
  const typed = call.values['density'];
  const density =
    typed === undefined ? { densityAmpsPerDm2, densityTyped } : { densityTyped: typed };
  const accepted = acceptedNames(call.values['accept-closure'], file.piece);
  const acceptMaterials = call.values['accept-material']?.split(',').map((id) => id.trim());
  return {
    piece: file.piece,
    start: file.start,
    ...density,
    ...contactOf(call, file),
    tankId,
    bathId: call.values['bath'] ?? file.bathId ?? tankBathId ?? '',
    paint: paintOf(call, file),
    target: targetOf(call, file),
    trickle: trickleOf(call, file),
    acceptClosures: accepted ?? file.acceptClosures,
    acceptMaterials: acceptMaterials ?? file.acceptMaterials,
  };
}

/** The densities of --compare in A/dm2, or null where it was not given. */
export function comparedDensities(call: Call): readonly number[] | null {
  const text = call.values['compare'];
  return text === undefined
    ? null
    : text.split(',').map((each) => densityOf('compare', each.trim()));
}
