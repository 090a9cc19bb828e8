/** A flat rectangular sheet with a rounded rim. */

import type { PartDefinition, Problem } from '../model.ts';
import { type Sizes, sizeOf, sizeProblem } from './sizes.ts';

function problems(sizes: Sizes): readonly Problem[] {
  const thickness = sizeOf(sizes, 'thicknessMm');
  const narrowest = Math.min(sizeOf(sizes, 'lengthMm'), sizeOf(sizes, 'widthMm'));
  if (thickness <= narrowest) {
    return [];
  }
  const bound = `at most its narrowest side, ${narrowest}`;
  return [sizeProblem('thicknessMm', thickness, bound, 'Enter a thick block as a box.')];
}

/**
 * A sheet with a half-round rim of radius s, half its thickness, round a mid-face of area F and
 * perimeter P: 2 F + pi P s + 4 pi s^2, pi P / 2 + 4 pi s, 4 pi / 3. Length and width are measured
 * over the rim, so the mid-face is smaller by s on every side. As the thickness vanishes this
 * becomes 2 S, pi P / 2, 4 pi / 3.
 */
export const sheetPart: PartDefinition = {
  kind: 'sheet',
  title: 'Sheet',
  explanation: 'A flat rectangular sheet or strip; both faces and the half-round rim count.',
  fields: [
    {
      name: 'lengthMm',
      label: 'Length',
      unit: 'mm',
      min: 0.1,
      max: 10_000,
      typical: 40,
      help: 'Measure the longer side from rim to rim.',
    },
    {
      name: 'widthMm',
      label: 'Width',
      unit: 'mm',
      min: 0.1,
      max: 10_000,
      typical: 20,
      help: 'Measure the shorter side from rim to rim.',
    },
    {
      name: 'thicknessMm',
      label: 'Thickness',
      unit: 'mm',
      min: 0.005,
      max: 100,
      typical: 0.5,
      help: 'Measure with a caliper or micrometer, paint included; a leaf is 0.1 to 0.5 mm.',
    },
  ],
  problems,
  growth(sizes) {
    const rimRadius = sizeOf(sizes, 'thicknessMm') / 2;
    const length = sizeOf(sizes, 'lengthMm') - 2 * rimRadius;
    const width = sizeOf(sizes, 'widthMm') - 2 * rimRadius;
    const perimeter = 2 * (length + width);
    return {
      areaMm2: 2 * length * width + Math.PI * perimeter * rimRadius + 4 * Math.PI * rimRadius ** 2,
      meanCurvatureMm: (Math.PI * perimeter) / 2 + 4 * Math.PI * rimRadius,
      gaussThird: (4 * Math.PI) / 3,
    };
  },
  closesAtMm: () => null,
  crossSection: (sizes) => ({ shape: 'flat', thicknessMm: sizeOf(sizes, 'thicknessMm') }),
};
