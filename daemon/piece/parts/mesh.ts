/** A part measured from a mesh file. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, rectangle } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import type { PartDefinition, PartField, PartShape, Problem } from '../model.ts';

// The picture of a run needs something to grow on where the mesh has no thickness.
const pictureThicknessMm = 1;

const fromFile = 'It is measured from the file.';

function extent(name: string, label: string): PartField {
  return lengthField(name, label, [0, 20, 10_000], fromFile);
}

// A ball has the least area for its volume; the allowance is for the rounding of a file.
const ballAllowance = 1 - 1e-6;

function problems(shape: PartShape): readonly Problem[] {
  const area = sizeOf(shape, 'areaMm2');
  const volume = sizeOf(shape, 'volumeMm3');
  const least = Math.cbrt(36 * Math.PI * volume ** 2);
  if (area >= least * ballAllowance) {
    return [];
  }
  const bound = `at least ${least.toPrecision(6)}, the area of a ball of its volume`;
  return [sizeProblem('areaMm2', area, bound, 'Read the file again.')];
}

/** The terms of its growth as the mesh reader measured them. */
export const meshPart: PartDefinition = {
  kind: 'mesh',
  title: 'Mesh',
  group: 'other',
  explanation: 'A shape read from a mesh file; all of its surface counts.',
  // The file is exact, but a print shrinks and its layers add surface.
  areaUncertainty: 0.05,
  fields: [
    {
      name: 'areaMm2',
      label: 'Area',
      unit: 'mm2',
      min: 0.001,
      max: 100_000_000,
      typical: 1_500,
      help: fromFile,
    },
    {
      name: 'volumeMm3',
      label: 'Volume',
      unit: 'mm3',
      min: 0,
      max: 10_000_000_000,
      typical: 2_000,
      help: fromFile,
    },
    {
      name: 'meanCurvatureMm',
      label: 'Mean curvature',
      unit: 'mm',
      min: -100_000_000,
      max: 100_000_000,
      typical: 120,
      help: fromFile,
    },
    {
      name: 'gaussThird',
      label: 'Third term',
      unit: 'number',
      min: -10_000_000,
      max: 10_000_000,
      typical: 4.18879,
      help: fromFile,
    },
    extent('lengthMm', 'Length'),
    extent('widthMm', 'Width'),
    extent('heightMm', 'Height'),
  ],
  problems,
  growth: (shape) => ({
    areaMm2: sizeOf(shape, 'areaMm2'),
    meanCurvatureMm: sizeOf(shape, 'meanCurvatureMm'),
    gaussThird: sizeOf(shape, 'gaussThird'),
  }),
  // As thick as a sheet of its area and volume; an open mesh has no volume.
  crossSection(shape) {
    const thicknessMm = (2 * sizeOf(shape, 'volumeMm3')) / sizeOf(shape, 'areaMm2');
    return { shape: 'flat', thicknessMm: thicknessMm > 0 ? thicknessMm : pictureThicknessMm };
  },
  dimensions: (shape) => [
    dimension('lengthMm', 'Length', sizeOf(shape, 'lengthMm')),
    dimension('widthMm', 'Width', sizeOf(shape, 'widthMm')),
    dimension('heightMm', 'Height', sizeOf(shape, 'heightMm')),
  ],
  // The box round it, from above and with its front folded down.
  drawing(shape) {
    const length = sizeOf(shape, 'lengthMm');
    const width = sizeOf(shape, 'widthMm');
    const height = sizeOf(shape, 'heightMm');
    const [x, y] = [length / 2, width / 2];
    return drawingOf(
      rectangle('hidden', length, width),
      rectangle('hidden', length, height, point(0, y + height / 2)),
      measure('lengthMm', point(-x, -y), point(x, -y)),
      measure('widthMm', point(x, -y), point(x, y)),
      measure('heightMm', point(x, y), point(x, y + height)),
    );
  },
};
