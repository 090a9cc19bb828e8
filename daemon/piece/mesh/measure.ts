/** Measures a mesh: area, volume, how it grows, whether it is closed, and what was mended for that. */

import { bendingOf } from './bending.ts';
import type { Bending } from './bending.ts';
import { faceShells } from './enclosure.ts';
import type { ShellFacing } from './enclosure.ts';
import type { Mesh } from './model.ts';
import { countShells } from './shells.ts';
import type { ShellCounts } from './shells.ts';
import { prepareSurface } from './surface.ts';
import type { Box, Surface } from './surface.ts';

export interface MeasuredRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** All lengths are in units of the file. */
export interface MeshMeasure {
  /** Triangles measured; those that had collapsed are not among them. */
  readonly triangles: number;
  readonly vertices: number;
  /** Triangles without area worth the name: collapsed ones, which were dropped, and needles. */
  readonly degenerateTriangles: number;
  /** Area that a bath reaches; what lies closed up inside is not in it. */
  readonly area: number;
  /** Area of shells that lie inside others. */
  readonly enclosedArea: number;
  /** Null for a surface that is not closed. */
  readonly volume: number | null;
  /**
   * H, half the sum of edge length times exterior angle. For a body with flat faces it is exact; for
   * the facets of a curved one it is right in the limit of a fine mesh. With open edges `high` lets
   * metal wrap half round them, and `low` ends it there.
   */
  readonly meanCurvature: MeasuredRange;
  /** K, a third of the integral of Gauss curvature, from the Euler characteristic; no unit. */
  readonly gaussThird: MeasuredRange;
  readonly closed: boolean;
  readonly openEdges: number;
  readonly nonManifoldEdges: number;
  /** Whether a shell was inside out as a whole and was turned over. */
  readonly insideOut: boolean;
  /** Triangles wound against their neighbours that were turned over. */
  readonly turnedTriangles: number;
  /** Edges at which no winding fits: a surface with one side only. */
  readonly windingConflicts: number;
  readonly shells: number;
  readonly enclosedShells: number;
  /** Vertices minus edges plus triangles, over all shells: 2 for a ball, 0 for a ring. */
  readonly eulerCharacteristic: number;
  readonly box: Box;
  readonly concaveEdges: number;
  /**
   * Thickness up to which the growth terms hold as far as neighbouring faces tell; null without a
   * concave edge. Faces that meet across a gap without sharing an edge are not looked at.
   */
  readonly concaveLimit: number | null;
  /** What a reader should know, as sentences. */
  readonly notes: readonly string[];
}

/** Measures a mesh. Throws MeshError when none of its triangles has area. */
export function measureMesh(mesh: Mesh): MeshMeasure {
  return measureSurface(prepareSurface(mesh));
}

/** Measures a surface that has been prepared already. */
export function measureSurface(surface: Surface): MeshMeasure {
  const { mesh, shells, openEdges, nonManifoldEdges, needleCount } = surface;
  const counts = countShells(shells, surface.twin);
  const facing = faceShells(surface, counts);
  const bending = bendingOf(surface, facing);
  const closed = openEdges === 0 && shells.conflicts === 0;
  const { area, enclosedArea, volume, insideOut } = totals(surface, facing);
  const measure = {
    triangles: shells.shellOf.length,
    vertices: mesh.vertices.length / 3,
    degenerateTriangles: mesh.collapsed + needleCount,
    area,
    enclosedArea,
    volume: closed ? volume : null,
    meanCurvature: meanCurvatureRange(bending),
    gaussThird: gaussRange(facing, counts),
    closed,
    openEdges,
    nonManifoldEdges,
    insideOut,
    turnedTriangles: shells.turned,
    windingConflicts: shells.conflicts,
    shells: shells.count,
    enclosedShells: facing.enclosed.reduce((sum, one) => sum + one, 0),
    eulerCharacteristic: counts.euler.reduce((sum, one) => sum + one, 0),
    box: surface.box,
    concaveEdges: bending.concaveEdges,
    concaveLimit: bending.concaveLimit,
  };
  return { ...measure, notes: notesOn(measure, mesh, bending, facing.examined) };
}

function totals(surface: Surface, { facing, enclosed }: ShellFacing) {
  let area = 0;
  let enclosedArea = 0;
  let volume = 0;
  let insideOut = false;
  for (let shell = 0; shell < facing.length; shell += 1) {
    const own = surface.areas[shell] as number;
    if (enclosed[shell] === 1) enclosedArea += own;
    else area += own;
    volume += (surface.volumes[shell] as number) * (facing[shell] as number);
    if (facing[shell] === -1) insideOut = true;
  }
  return { area, enclosedArea, volume, insideOut };
}

function meanCurvatureRange({ meanCurvature, openLength }: Bending): MeasuredRange {
  const high = meanCurvature + (Math.PI / 2) * openLength;
  return { value: meanCurvature, low: meanCurvature, high };
}

/** The integral of Gauss curvature of a closed surface is 2 pi times its Euler characteristic. */
function gaussRange({ enclosed }: ShellFacing, counts: ShellCounts): MeasuredRange {
  let closedUp = 0;
  let open = 0;
  for (let shell = 0; shell < enclosed.length; shell += 1) {
    if (enclosed[shell] === 1) continue;
    const euler = counts.euler[shell] as number;
    open += euler;
    // A disc over each hole, as a mended mesh would have it.
    closedUp += euler + (counts.openLoops[shell] as number);
  }
  const third = (2 * Math.PI) / 3;
  return { value: third * closedUp, low: third * open, high: third * closedUp };
}

type Counted = Omit<MeshMeasure, 'notes'>;

function notesOn(
  measure: Counted,
  mesh: Mesh,
  { cracks }: Bending,
  examined: boolean,
): readonly string[] {
  const notes = [...mesh.notes];
  const say = (holds: boolean, sentence: string): void => {
    if (holds) notes.push(sentence);
  };
  say(
    !measure.closed,
    `The surface is not closed: it has ${counted(measure.openEdges, 'open edge')}. Its area counts as it is; it has no volume, and its growth has a wider range.`,
  );
  say(
    measure.nonManifoldEdges > 0,
    `More than two triangles meet in ${counted(measure.nonManifoldEdges, 'edge')}.`,
  );
  say(measure.insideOut, 'The mesh was inside out and has been turned over.');
  say(
    measure.turnedTriangles > 0,
    `Wound against their neighbours and turned over: ${counted(measure.turnedTriangles, 'triangle')}.`,
  );
  say(
    measure.windingConflicts > 0,
    'The surface has one side only: no winding fits, so there is no volume.',
  );
  say(
    measure.enclosedShells > 0,
    `Closed up inside, where no bath reaches: ${counted(measure.enclosedShells, 'shell')}, left out of the area. Where a drain hole leads in, it has to be in the mesh.`,
  );
  say(!examined, 'There are too many separate shells to see which lie inside others.');
  say(
    measure.degenerateTriangles > 0,
    `Without area: ${counted(measure.degenerateTriangles, 'triangle')}.`,
  );
  say(
    cracks > 0,
    `Inward edges sharper than 12 degrees, which close at once: ${counted(cracks, 'edge')}.`,
  );
  return notes;
}

function counted(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? '' : 's'}`;
}
