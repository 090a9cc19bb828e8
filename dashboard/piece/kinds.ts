/** The kinds of part as the daemon knows them: their sizes, and how they look with the usual ones. */

import type { Drawing, PartDefinition } from '../../daemon/piece/model.ts';
import { read, readList } from '../api.ts';
import { fetchPart } from '../on-demand.ts';

/** A kind of part as data. */
export type PartKind = Pick<PartDefinition, 'kind' | 'group' | 'title' | 'explanation' | 'fields'>;

let kinds: readonly PartKind[] = [];
let drawings: Readonly<Record<string, Drawing>> = {};

/** Every kind, in the order in which a maker looks for them; empty until they were asked for. */
export function partKinds(): readonly PartKind[] {
  return kinds;
}

export function partKind(kind: string): PartKind | undefined {
  return kinds.find((one) => one.kind === kind);
}

/** Takes the kinds as they are. */
export function learnKinds(known: readonly PartKind[]): void {
  kinds = known;
}

/** Asks for the kinds once; resolves when they are known. */
export async function askForKinds(): Promise<void> {
  if (kinds.length > 0) return;
  await fetchPart(async () => learnKinds(await readList<PartKind>('/api/parts')));
}

let asking: Promise<void> | null = null;

/** Asks once for how the kinds look. */
export function askForDrawings(): Promise<void> {
  asking ??= fetchPart(async () => {
    drawings = await read<Readonly<Record<string, Drawing>>>('/api/parts/drawings');
  });
  return asking;
}

/** The same, with a word once they are there; said only to the first who wants them. */
export function wantDrawings(refresh: () => void): void {
  if (asking === null) void askForDrawings().then(refresh);
}

/** How a kind looks with its usual sizes; null until that was asked for. */
export function typicalDrawing(kind: string): Drawing | null {
  return drawings[kind] ?? null;
}
