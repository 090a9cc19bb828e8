/** The words of the page that lays runs beside each other, in English. */

import type { Axis, Quantity } from '../../log/compare-axes.ts';

const axes: Readonly<Record<Axis, string>> = {
  time: 'Time',
  charge: 'Charge',
  thickness: 'Thickness',
};

const along: Readonly<Record<Axis, string>> = {
  time: 'Time since each start',
  charge: 'Charge that has passed, A·h',
  thickness: 'Thickness grown, µm',
};

const quantities: Readonly<Record<Quantity, string>> = {
  thickness: 'Thickness, µm',
  charge: 'Charge, A·h',
  current: 'Current, A',
  voltage: 'Voltage, V',
};

export const compareWords = {
  title: 'Runs compared',
  axis: 'Laid out along',
  axes,
  along,
  quantities,
  lines: ['solid line', 'dashed line', 'dotted line', 'line of dashes and dots'],
  line: (letter: string, pattern: string) => `${letter}, ${pattern}`,
  nothing: 'None of these runs has a curve.',
  noCurve: 'Nothing was recorded: it never started.',
  few: 'There is only one run here; choose another in the Log.',
  none: 'No runs were chosen. Tick two to four of them in the Log.',
  choose: 'Choose others in the Log',
  badAddress: (most: number) =>
    `The address names no runs to compare: up to ${most} of them, with commas between.`,
  leftOut: (id: string, why: string) => `${id} is left out. ${why}`,
  unknownAxis: (text: string) =>
    `The address asks for “${text}” as the axis; it must be time, charge or thickness.`,
  atEnds: 'Values at the end of each run. Point at a curve to read others.',
  at: (place: string) => `At ${place}`,
  picture: (axis: string, count: number) =>
    `Curves of ${count} runs along one axis: ${axis}. Arrow keys move the reading line; the values stand as text beside each curve.`,
  table: 'Show as tables',
  facts: (grown: string, target: string, charge: string, lasted: string, density: string) =>
    [`${grown} of ${target}`, charge, lasted, `planned at ${density}`]
      .filter((text) => text !== '')
      .join(', '),
} as const;
