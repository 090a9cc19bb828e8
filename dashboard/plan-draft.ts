/** A plan as it is being typed: every entry stays the text that was entered until it can be read. */

import { fromAmpsPerDm2, toAmpsPerDm2 } from '../daemon/chemistry/density-units.ts';
import type { PartDescription, Problem } from '../daemon/piece/model.ts';
import { partDefinition } from '../daemon/piece/parts.ts';
import type { Paint, PlainTarget, PlanRequest, Target } from '../daemon/run/model.ts';

export interface DraftPart {
  kind: string;
  label: string;
  count: string;
  platedPercent: string;
  sizes: Record<string, string>;
}

/** The run that the new one carries on from, and what it had grown. */
export interface DraftOrigin {
  readonly runId: string;
  readonly ampHours: number;
  readonly thicknessMicrometres: number;
}

export interface Draft {
  name: string;
  parts: DraftPart[];
  areaPercent: string;
  tankId: string;
  bathId: string;
  paint: Paint;
  density: string;
  densityUnit: string;
  targetKind: PlainTarget['kind'];
  /** One entry for each way to stop, so that changing the way loses none. */
  targets: Record<PlainTarget['kind'], string>;
  trickle: boolean;
  trickleDensity: string;
  trickleHours: string;
  /** False: the paint decides how gently a run starts. */
  ownStart: boolean;
  strikePercent: string;
  strikeMinutes: string;
  rampMinutes: string;
  continues: DraftOrigin | null;
}

/** Where the number of each kind of target stands in a request. */
export const targetFields = {
  thickness: 'micrometres',
  mass: 'grams',
  charge: 'ampHours',
  time: 'hours',
} as const;

export function newPart(kind: string): DraftPart {
  const definition = partDefinition(kind);
  const sizes = (definition?.fields ?? []).map(({ name, typical }) => [name, String(typical)]);
  return {
    kind,
    label: definition?.title ?? kind,
    count: '1',
    platedPercent: '100',
    sizes: Object.fromEntries(sizes) as Record<string, string>,
  };
}

export function newDraft(): Draft {
  return {
    name: 'New piece',
    parts: [newPart('wire')],
    areaPercent: '10',
    tankId: '',
    bathId: '',
    paint: 'copper',
    density: '',
    densityUnit: 'A/dm2',
    targetKind: 'thickness',
    targets: { thickness: '150', mass: '2', charge: '2', time: '8' },
    trickle: false,
    trickleDensity: '0.05',
    trickleHours: '6',
    ownStart: false,
    strikePercent: '20',
    strikeMinutes: '30',
    rampMinutes: '20',
    continues: null,
  };
}

/** A draft from what the browser kept; what is missing or of another shape is taken anew. */
export function draftFrom(text: string | null): Draft {
  const fresh = newDraft();
  try {
    const stored = JSON.parse(text ?? '{}') as Partial<Draft>;
    const draft = { ...fresh, ...stored, targets: { ...fresh.targets, ...stored.targets } };
    const whole = draft.parts.every(
      (part) => typeof part.kind === 'string' && typeof part.sizes === 'object',
    );
    return whole ? draft : fresh;
  } catch {
    return fresh;
  }
}

const short = (value: number): string => String(Number(value.toPrecision(6)));

/** The form asks for plain targets: a time of day leaves its goal, a final size the usual thickness. */
function plainTarget(target: Target): PlainTarget {
  if (target.kind === 'done-by') return plainTarget(target.goal);
  if (target.kind !== 'final-size') return target;
  return { kind: 'thickness', micrometres: Number(newDraft().targets.thickness) };
}

/** The draft that would ask for this plan. */
export function draftOf(request: PlanRequest): Draft {
  const { piece, target, trickle, start } = request;
  const fresh = newDraft();
  const plain = plainTarget(target);
  const number = (plain as unknown as Record<string, number>)[targetFields[plain.kind]] ?? 0;
  return {
    ...fresh,
    name: piece.name,
    parts: piece.parts.map((part) => ({
      kind: part.kind,
      label: part.label,
      count: String(part.count),
      platedPercent: short(part.platedFraction * 100),
      sizes: Object.fromEntries(
        Object.entries(part.sizes).map(([name, size]) => [name, short(size)]),
      ),
    })),
    areaPercent: short(piece.areaUncertainty * 100),
    tankId: request.tankId,
    bathId: request.bathId,
    paint: request.paint,
    density: short(request.densityAmpsPerDm2),
    targetKind: plain.kind,
    targets: { ...fresh.targets, [plain.kind]: short(number) },
    trickle: trickle !== null,
    trickleDensity: trickle ? short(trickle.densityAmpsPerDm2) : fresh.trickleDensity,
    trickleHours: trickle ? short(trickle.maxHours) : fresh.trickleHours,
    ...(start && {
      ownStart: true,
      strikePercent: short(start.strikeShare * 100),
      strikeMinutes: short(start.strikeMinutes),
      rampMinutes: short(start.rampMinutes),
    }),
  };
}

/** A number as people type it, with a point or a comma; NaN for anything else. */
export function numberFrom(text: string): number {
  const plain = text.trim().replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}

/** Reads numbers, keeping a problem for each that cannot be read or leaves its bounds. */
class Reader {
  readonly problems: Problem[] = [];

  number(field: string, text: string, bound = 'a number', min = -Infinity, max = Infinity): number {
    const value = numberFrom(text);
    if (!(value >= min && value <= max)) {
      const shown = text.trim() === '' ? 'empty' : text.trim();
      const message = `${field} is ${shown}; it must be ${bound}.`;
      this.problems.push({ field, value: shown, bound, message });
    }
    return value;
  }

  /** Entered in percent, asked for as a share. */
  share(field: string, text: string, most: number, least = 0): number {
    return this.number(field, text, `a percentage from ${least} to ${most}`, least, most) / 100;
  }
}

function readPart(reader: Reader, part: DraftPart, index: number): PartDescription {
  const path = `piece.parts[${index}]`;
  const sizes = Object.entries(part.sizes).map(
    ([name, text]) => [name, reader.number(`${path}.sizes.${name}`, text)] as const,
  );
  return {
    kind: part.kind,
    label: part.label,
    count: reader.number(`${path}.count`, part.count),
    platedFraction: reader.share(`${path}.platedFraction`, part.platedPercent, 100),
    sizes: Object.fromEntries(sizes),
  };
}

function readDensity(reader: Reader, field: string, text: string, unit: string): number {
  const value = reader.number(field, text, 'a number above 0', Number.MIN_VALUE);
  return value > 0 ? toAmpsPerDm2(value, unit) : value;
}

function readStart(reader: Reader, draft: Draft): NonNullable<PlanRequest['start']> {
  const minutes = (field: string, text: string): number =>
    reader.number(field, text, 'a number from 0 to 600', 0, 600);
  return {
    strikeShare: reader.share('start.strikeShare', draft.strikePercent, 100, 1),
    strikeMinutes: minutes('start.strikeMinutes', draft.strikeMinutes),
    rampMinutes: minutes('start.rampMinutes', draft.rampMinutes),
  };
}

/** What the draft asks for. With problems the request is not fit to be sent. */
export function requestOf(draft: Draft): {
  readonly request: PlanRequest;
  readonly problems: readonly Problem[];
} {
  const reader = new Reader();
  const { targetKind, densityUnit } = draft;
  const targetField = targetFields[targetKind];
  const amount = reader.number(`target.${targetField}`, draft.targets[targetKind]);
  const request: PlanRequest = {
    piece: {
      name: draft.name,
      parts: draft.parts.map((part, index) => readPart(reader, part, index)),
      areaUncertainty: reader.share('piece.areaUncertainty', draft.areaPercent, 90),
    },
    tankId: draft.tankId,
    bathId: draft.bathId,
    paint: draft.paint,
    densityAmpsPerDm2: readDensity(reader, 'densityAmpsPerDm2', draft.density, densityUnit),
    target: { kind: targetKind, [targetField]: amount } as unknown as PlainTarget,
    trickle: draft.trickle
      ? {
          densityAmpsPerDm2: readDensity(
            reader,
            'trickle.densityAmpsPerDm2',
            draft.trickleDensity,
            densityUnit,
          ),
          maxHours: reader.number('trickle.maxHours', draft.trickleHours),
        }
      : null,
    ...(draft.ownStart && { start: readStart(reader, draft) }),
  };
  return { request, problems: reader.problems };
}

/** The same density as text in another unit, so that changing the unit changes no current. */
export function inUnit(text: string, from: string, to: string): string {
  const value = numberFrom(text);
  return value >= 0 ? short(fromAmpsPerDm2(toAmpsPerDm2(value, from), to)) : text;
}
