/** Turns what was measured of a mesh into the sizes of a part, in mm, once its unit is known. */

import type { MeshOrigin, MeshUnit } from '../model.ts';
import type { MeshMeasure } from './measure.ts';
import { sizeOf } from './surface.ts';
import { millimetresPer } from './units.ts';

/** The sizes of a part of kind `mesh`, keyed as its fields are. */
export interface MeshSizes extends Readonly<Record<string, number>> {
  readonly areaMm2: number;
  /** 0 where the surface is not closed: then it has none. */
  readonly volumeMm3: number;
  readonly meanCurvatureMm: number;
  readonly gaussThird: number;
  /** Extents, the longest first. */
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

export interface MeshPart {
  readonly sizes: MeshSizes;
  readonly mesh: MeshOrigin;
}

/** Scales lengths by the unit, areas by its square, volume by its cube; K has no unit. */
export function toPart(
  measure: MeshMeasure,
  unit: MeshUnit,
  file: { readonly fileName: string; readonly sha256: string },
): MeshPart {
  const factor = millimetresPer(unit);
  const [lengthMm = 0, widthMm = 0, heightMm = 0] = sizeOf(measure.box)
    .toSorted((a, b) => b - a)
    .map((extent) => extent * factor);
  return {
    sizes: {
      areaMm2: measure.area * factor ** 2,
      volumeMm3: (measure.volume ?? 0) * factor ** 3,
      meanCurvatureMm: measure.meanCurvature.value * factor,
      gaussThird: measure.gaussThird.value,
      lengthMm,
      widthMm,
      heightMm,
    },
    mesh: {
      fileName: file.fileName,
      sha256: file.sha256,
      unit,
      triangles: measure.triangles,
    },
  };
}
