/** A comparison of densities as a table of few columns. */

import type { ComparisonRow } from '../run/plan-compare.ts';
import { bold } from './command.ts';
import type { Terminal } from './command.ts';
import { digits, duration } from './plan-text.ts';
import { table } from './table.ts';

const risks = { none: '-', some: 'some', high: 'high' } as const;

/** `07:46 Thu 26 Nov`: a column has little room. */
function shortDay(local: string): string {
  return local.replace(/ on (\w{3})\w* (\d+) (\w{3})\w*$/, ' $1 $2 $3');
}

function nightText({ nightHours }: ComparisonRow): string {
  return nightHours === null ? '-' : `${digits(nightHours, 2)} h`;
}

/** One column for each density, one line for each figure. */
export function comparisonText(terminal: Terminal, rows: readonly ComparisonRow[]): string {
  const line = (name: string, cell: (row: ComparisonRow) => string) => [name, ...rows.map(cell)];
  const clock = rows.every(({ endLocal }) => endLocal !== null);
  const due = rows.some(({ inTime }) => inTime !== null);
  const lines = [
    line('time', ({ durationMs }) => duration(durationMs)),
    ...(clock ? [line('ends', ({ endLocal }) => shortDay(endLocal ?? ''))] : []),
    ...(clock ? [line('of it at night', nightText)] : []),
    ...(due ? [line('in time', ({ inTime }) => (inTime === true ? 'yes' : 'no'))] : []),
    line('current at the end', ({ holdEndAmps }) => `${digits(holdEndAmps, 3)} A`),
    line('thickness', ({ thicknessMicrometres }) => `${digits(thicknessMicrometres, 2)} µm`),
    line('Wagner number, 10 mm', ({ wagnerAt10Mm }) => digits(wagnerAt10Mm, 2)),
    line('reach into a 5 mm hole', ({ recessReachMm }) => `${digits(recessReachMm, 2)} mm`),
    line('burning', ({ burning }) => risks[burning]),
    line('dull or bare', ({ dull }) => risks[dull]),
    line('can be started', ({ startable }) => (startable ? 'yes' : 'no')),
  ];
  const headings = ['', ...rows.map((row) => `${digits(row.densityAmpsPerDm2, 3)} A/dm2`)];
  const against = rows.flatMap(({ densityAmpsPerDm2, against: words }) =>
    words.map((word) => `  At ${digits(densityAmpsPerDm2, 3)} A/dm2: ${word}`),
  );
  return [
    bold(terminal, 'Side by side'),
    table(headings, lines),
    '',
    'The higher the Wagner number and the reach, the more even the metal.',
    ...(against.length === 0 ? [] : ['', bold(terminal, 'What speaks against them'), ...against]),
  ].join('\n');
}
