/** A piece as it is being typed: every entry stays the text that was entered until it can be read. */

import type {
  MeshOrigin,
  Outline,
  PartDescription,
  PartField,
  PicturePoint,
  PieceDescription,
  Point,
  Problem,
} from '../../daemon/piece/model.ts';
import { pieceWords } from '#words/piece';
import { partKind } from './kinds.ts';
import { lengthMmFrom, Reader, short } from './typed.ts';

/** A trace as it is being made; the points of the outline follow from it. */
export interface OutlineDraft {
  pictureId: string | null;
  /** Of the picture that was traced, in its pixels; 0 while there is none. */
  pictureWidth: number;
  pictureHeight: number;
  scaleEnds: PicturePoint[];
  /** The true length between both ends, as typed. */
  scaleLength: string;
  picturePoints: PicturePoint[];
  closed: boolean;
  /** An outline without a picture, as it came; empty once there is a trace. */
  points: Point[];
}

export interface DraftPart {
  /** Tells parts apart while they are moved about. */
  key: string;
  kind: string;
  label: string;
  count: string;
  platedPercent: string;
  sizes: Record<string, string>;
  /** Surface hidden by other parts, mm2; empty for none. */
  covered: string;
  /** Entries that looked like another unit and were said to be right, by name of the size. */
  asTyped: Record<string, string>;
  outline: OutlineDraft | null;
  mesh: MeshOrigin | null;
}

/** A row of the table of materials, or a name that it does not know, made into an id. */
export interface DraftMaterial {
  id: string;
  /** Where it is on the piece, or the name as it was typed. */
  note: string;
}

/** The row of the library that a draft was opened from or saved to. */
export interface LibraryPlace {
  readonly id: string;
  readonly version: number;
}

export interface PieceDraft {
  name: string;
  parts: DraftPart[];
  areaPercent: string;
  /** As weigh-ins found it; empty for none. */
  areaFactor: string;
  materials: DraftMaterial[];
  library: LibraryPlace | null;
  /** Changes with the piece, so that it can be told from what was saved; empty where not known. */
  savedMark: string;
}

let keys = 0;

/** A key that no other part of this page has. */
function newKey(): string {
  keys += 1;
  return `${Date.now().toString(36)}-${keys}`;
}

function fieldOf(kind: string, name: string): PartField | undefined {
  return partKind(kind)?.fields.find((field) => field.name === name);
}

/** Whose sizes come from a file, and whose outline from a trace. */
export const meshKind = 'mesh';
export const outlineKind = 'outline';

/** An empty trace. */
export function newTrace(): OutlineDraft {
  return {
    pictureId: null,
    pictureWidth: 0,
    pictureHeight: 0,
    scaleEnds: [],
    scaleLength: '',
    picturePoints: [],
    closed: false,
    points: [],
  };
}

export function newPart(kind: string): DraftPart {
  const definition = partKind(kind);
  const sizes = (definition?.fields ?? []).map(({ name, typical }) => [
    name,
    // A mesh has no sizes until its file is read.
    kind === meshKind ? '' : short(typical),
  ]);
  return {
    key: newKey(),
    kind,
    label: definition?.title ?? kind,
    count: '1',
    platedPercent: '100',
    sizes: Object.fromEntries(sizes) as Record<string, string>,
    covered: '',
    asTyped: {},
    outline: null,
    mesh: null,
  };
}

/** The same part again, told apart from the first. */
export function copiedPart(part: DraftPart): DraftPart {
  return { ...structuredClone(part), key: newKey() };
}

export function newPieceDraft(): PieceDraft {
  return {
    name: pieceWords.newName,
    parts: [newPart('wire')],
    areaPercent: '10',
    areaFactor: '',
    materials: [],
    library: null,
    savedMark: '',
  };
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

const texts = (value: Record<string, unknown>): boolean =>
  Object.values(value).every((text) => typeof text === 'string');

const isPoint = (stored: unknown, first: string, second: string): boolean =>
  isRecord(stored) && Number.isFinite(stored[first]) && Number.isFinite(stored[second]);

const arePoints = (stored: unknown, first: string, second: string): boolean =>
  Array.isArray(stored) && stored.every((one) => isPoint(one, first, second));

/** A stored trace; null where it is none. */
function traceFrom(stored: unknown): OutlineDraft | null {
  if (!isRecord(stored)) return null;
  const trace: OutlineDraft = { ...newTrace(), ...stored };
  const { pictureId, pictureWidth, pictureHeight, scaleEnds, picturePoints, points } = trace;
  const sound =
    (pictureId === null || typeof pictureId === 'string') &&
    Number.isFinite(pictureWidth) &&
    Number.isFinite(pictureHeight) &&
    arePoints(scaleEnds, 'x', 'y') &&
    arePoints(picturePoints, 'x', 'y') &&
    arePoints(points, 'xMm', 'yMm') &&
    typeof trace.scaleLength === 'string' &&
    typeof trace.closed === 'boolean';
  return sound ? trace : null;
}

/** What was stored of a mesh; null where it is none. */
function meshFrom(stored: unknown): MeshOrigin | null {
  if (!isRecord(stored)) return null;
  const { fileName, sha256, unit, triangles } = stored;
  const sound = texts({ fileName, sha256, unit }) && Number.isFinite(triangles);
  return sound ? (stored as unknown as MeshOrigin) : null;
}

/** A stored part with what is missing taken anew; null where it is no part. */
function partFrom(stored: unknown): DraftPart | null {
  if (!isRecord(stored) || typeof stored['kind'] !== 'string' || !isRecord(stored['sizes'])) {
    return null;
  }
  const fresh = newPart(stored['kind']);
  const part: DraftPart = {
    ...fresh,
    ...stored,
    outline: traceFrom(stored['outline']),
    mesh: meshFrom(stored['mesh']),
    asTyped: isRecord(stored['asTyped']) ? (stored['asTyped'] as Record<string, string>) : {},
  };
  const { key, label, count, platedPercent, covered } = part;
  const sound = texts({ key, label, count, platedPercent, covered, ...part.sizes });
  return sound ? part : null;
}

function isMaterial(stored: unknown): stored is DraftMaterial {
  return isRecord(stored) && typeof stored['id'] === 'string' && typeof stored['note'] === 'string';
}

function libraryFrom(stored: unknown): LibraryPlace | null {
  if (!isRecord(stored)) return null;
  const { id, version } = stored;
  return typeof id === 'string' && typeof version === 'number' ? { id, version } : null;
}

/** A draft from what was stored; what is missing or of another shape is taken anew. */
export function pieceDraftFrom(stored: unknown): PieceDraft {
  const fresh = newPieceDraft();
  if (!isRecord(stored)) return fresh;
  const { name, parts, areaPercent, areaFactor, materials, library, savedMark } = stored;
  const read = Array.isArray(parts) ? parts.map(partFrom) : fresh.parts;
  if (read.some((part) => part === null)) return fresh;
  return {
    name: typeof name === 'string' ? name : fresh.name,
    parts: read.filter((part) => part !== null),
    areaPercent: typeof areaPercent === 'string' ? areaPercent : fresh.areaPercent,
    areaFactor: typeof areaFactor === 'string' ? areaFactor : '',
    materials: Array.isArray(materials) ? materials.filter(isMaterial) : [],
    library: libraryFrom(library),
    savedMark: typeof savedMark === 'string' ? savedMark : '',
  };
}

function outlineDraftOf(outline: Outline): OutlineDraft {
  const { points, pictureId, scale, picturePoints } = outline;
  const traced = scale !== undefined && picturePoints !== undefined;
  return {
    pictureId: pictureId ?? null,
    pictureWidth: 0,
    pictureHeight: 0,
    scaleEnds: scale ? [scale.first, scale.second] : [],
    scaleLength: scale ? short(scale.lengthMm) : '',
    picturePoints: [...(picturePoints ?? [])],
    closed: true,
    points: traced ? [] : [...points],
  };
}

/** The draft that describes this piece. */
export function pieceDraftOf(piece: PieceDescription): PieceDraft {
  return {
    name: piece.name,
    parts: piece.parts.map((part) => ({
      key: newKey(),
      kind: part.kind,
      label: part.label,
      count: String(part.count),
      platedPercent: short(part.platedFraction * 100),
      sizes: Object.fromEntries(
        Object.entries(part.sizes).map(([name, size]) => [
          name,
          // Nobody types the numbers of a mesh, so they keep all their digits.
          part.mesh ? String(size) : short(size),
        ]),
      ),
      asTyped: {},
      covered: part.coveredMm2 === undefined ? '' : short(part.coveredMm2),
      outline: part.outline ? outlineDraftOf(part.outline) : null,
      mesh: part.mesh ?? null,
    })),
    areaPercent: short(piece.areaUncertainty * 100),
    areaFactor: piece.areaFactor === undefined ? '' : short(piece.areaFactor),
    materials: (piece.materials ?? []).map(({ id, note = '' }) => ({ id, note })),
    library: null,
    savedMark: '',
  };
}

/** A tenth of a micrometre is finer than any click, and keeps a long trace short. */
const fine = (mm: number): number => Number(mm.toFixed(4));

const pixels = (from: PicturePoint, to: PicturePoint): number =>
  Math.hypot(to.x - from.x, to.y - from.y);

/** Millimetres in a pixel of the traced picture; NaN while its scale is not set. */
export function millimetresPerPixel({ scaleEnds, scaleLength }: OutlineDraft): number {
  const [first, second] = scaleEnds;
  if (!first || !second) return Number.NaN;
  const lengthMm = lengthMmFrom(scaleLength);
  const length = pixels(first, second);
  return lengthMm > 0 && length > 0 ? lengthMm / length : Number.NaN;
}

/** The outline that a trace comes to; undefined while it is not closed or has no scale. */
export function outlineOf(trace: OutlineDraft): Outline | undefined {
  const { picturePoints, points, closed, pictureId, scaleEnds, scaleLength } = trace;
  if (points.length > 0 && picturePoints.length === 0) return { points };
  const scale = millimetresPerPixel(trace);
  const [first, second] = scaleEnds;
  if (!closed || Number.isNaN(scale) || !first || !second) return undefined;
  return {
    points: picturePoints.map(({ x, y }) => ({ xMm: fine(x * scale), yMm: fine(y * scale) })),
    ...(pictureId !== null && { pictureId }),
    scale: { first, second, lengthMm: lengthMmFrom(scaleLength) },
    picturePoints,
  };
}

/** Whether a size is the diameter of a round wire, which may be typed as a gauge. */
export function isWireField({ name }: Pick<PartField, 'name'>): boolean {
  return name === 'wireDiameterMm';
}

function readSize(reader: Reader, path: string, kind: string, name: string, text: string): number {
  const field = fieldOf(kind, name);
  if (field?.unit === 'mm') return reader.length(path, text, isWireField(field));
  const percent = field?.unit === 'share' ? /^(.*)%\s*$/.exec(text) : null;
  return percent ? reader.number(path, percent[1] ?? '') / 100 : reader.number(path, text);
}

function readPart(reader: Reader, part: DraftPart, path: string): PartDescription {
  const sizes = Object.entries(part.sizes).map(
    ([name, text]) =>
      [name, readSize(reader, `${path}.sizes.${name}`, part.kind, name, text)] as const,
  );
  const coveredMm2 =
    part.covered.trim() === '' ? undefined : reader.number(`${path}.coveredMm2`, part.covered);
  const outline = part.outline ? outlineOf(part.outline) : undefined;
  return {
    kind: part.kind,
    label: part.label,
    count: reader.number(`${path}.count`, part.count),
    platedFraction: reader.share(`${path}.platedFraction`, part.platedPercent, 100),
    sizes: Object.fromEntries(sizes),
    ...(coveredMm2 !== undefined && { coveredMm2 }),
    ...(outline && { outline }),
    ...(part.mesh && { mesh: part.mesh }),
  };
}

/**
 * The piece that the draft describes, and a problem for each entry that cannot be read, by field path
 * below `root`. With problems the piece is not fit to be planned.
 */
export function pieceOf(
  draft: PieceDraft,
  root = 'piece',
): { readonly piece: PieceDescription; readonly problems: readonly Problem[] } {
  const reader = new Reader();
  const piece: PieceDescription = {
    name: draft.name,
    parts: draft.parts.map((part, index) => readPart(reader, part, `${root}.parts[${index}]`)),
    ...(draft.materials.length > 0 && {
      materials: draft.materials.map(({ id, note }) => ({ id, ...(note !== '' && { note }) })),
    }),
    areaUncertainty: reader.share(`${root}.areaUncertainty`, draft.areaPercent, 90),
    ...(draft.areaFactor.trim() !== '' && {
      areaFactor: reader.number(`${root}.areaFactor`, draft.areaFactor),
    }),
  };
  return { piece, problems: reader.problems };
}

/** An id that the piece may carry for a name that the table does not know; empty where none is left. */
export function materialIdFrom(name: string): string {
  return name
    .normalize('NFD')
    .toLowerCase()
    .replaceAll(/[\u0300-\u036f]/g, '')
    .replaceAll(/[^a-z0-9]+/g, '-')
    .slice(0, 64)
    .replaceAll(/^-+|-+$/g, '');
}
