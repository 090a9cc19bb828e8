/** A plan as a calm page of text. */

import { partNameOf } from '../piece/part-names.ts';
import type { Notice, Plan, Ranged, Stage } from '../run/model.ts';
import { localText } from '../run/wall-time.ts';
import { bold } from './command.ts';
import type { Terminal } from './command.ts';
import { columns } from './help.ts';

type Rounding = (value: number) => number;

/** A number to so many digits that count, without an exponent. */
export function digits(value: number, count: number, round: Rounding = Math.round): string {
  if (value === 0 || !Number.isFinite(value)) return String(value);
  const places = count - 1 - Math.floor(Math.log10(Math.abs(value)));
  // A hair of tolerance keeps 0.3 from becoming 0.31 when it is rounded up.
  const hair = round === Math.ceil ? -1e-9 : 1e-9;
  const step = 10 ** -places;
  return (round(value / step + hair) * step).toFixed(Math.min(6, Math.max(0, places)));
}

/** Hours and minutes. */
export function duration(ms: number): string {
  const minutes = Math.round(ms / 60_000);
  const hours = Math.floor(minutes / 60);
  if (hours === 0) return `${minutes} min`;
  return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`;
}

/** A figure with its range and unit, to so many digits. */
export function ranged({ value, low, high }: Ranged, count: number, unit: string): string {
  // The ends are rounded outwards: a range that looks narrower than it is would promise too much.
  const range = `${digits(low, count, Math.floor)} to ${digits(high, count, Math.ceil)}`;
  return `${digits(value, count)} ${unit} (${range})`;
}

const stageNames = { strike: 'strike', ramp: 'ramp', hold: 'hold', trickle: 'trickle' } as const;

function stageText(stage: Stage): string {
  const start = digits(stage.startAmpsPerDm2, 3);
  const end = digits(stage.endAmpsPerDm2, 3);
  const density = start === end ? `${start} A/dm2` : `${start} to ${end} A/dm2`;
  return `${density}, ${stage.kind === 'hold' ? 'about ' : ''}${duration(stage.durationMs)}`;
}

function pieceText({ request }: Plan): string {
  const { name, parts } = request.piece;
  const count = parts.reduce((sum, part) => sum + part.count, 0);
  return `${name}, ${count} ${count === 1 ? 'part' : 'parts'}`;
}

function deciding(plan: Plan): string {
  const part = plan.request.piece.parts[plan.decidingPart];
  return part === undefined ? '' : part.label || part.kind;
}

const severities = { refuse: 'Cannot start', warn: 'Take care', note: 'Good to know' } as const;

function noticeText(terminal: Terminal, notice: Notice): string {
  const head = bold(terminal, `${severities[notice.severity]}:`);
  const remedy = notice.remedy === '' ? '' : `\n    ${notice.remedy}`;
  return `  ${head} ${notice.message}${remedy}`;
}

/** Where the density came from. */
function densityText({ request, densityFrom }: Plan): string {
  const shown = `${digits(request.densityAmpsPerDm2, 3)} A/dm2`;
  if (densityFrom === 'window') return `${shown}, as this bath is usually run`;
  if (densityFrom === 'done-by') return `${shown}, found for the time given`;
  const { densityTyped } = request;
  return densityTyped === undefined || /^[\d.]+$/.test(densityTyped)
    ? shown
    : `${shown}, typed as ${densityTyped}`;
}

const doubts = {
  area: 'the area',
  efficiency: "the bath's efficiency",
  meter: 'the ammeter',
  metalDensity: 'the density of the metal',
} as const;

/** The lines that older plans do not have. */
function findings(plan: Plan): readonly [string, string][] {
  const { evenness, dominant, hanger, doneBy, finalSize } = plan;
  const lines: [string, string][] = [];
  if (evenness !== undefined) {
    const thinnest = digits(evenness.thinnestMicrometres, 2, Math.floor);
    const name = partNameOf(plan.request.piece, evenness.partIndex);
    lines.push(['thinnest', `perhaps ${thinnest} µm; ${name} is taken for ${evenness.form}`]);
  }
  if (finalSize !== null && finalSize !== undefined) {
    const name = partNameOf(plan.request.piece, finalSize.partIndex);
    const before = digits(finalSize.beforeMm, 4);
    const after = ranged(finalSize.afterMm, 4, 'mm');
    lines.push(['size', `${finalSize.label} of ${name}: ${before} mm now, ${after} after`]);
  }
  if (doneBy !== null && doneBy !== undefined) {
    const { endWallMs, timeZone } = doneBy;
    lines.push(['done', `${localText(endWallMs, timeZone)}, ${timeZone}, if started now`]);
  }
  if (dominant !== undefined) {
    const share = digits(dominant.share * 100, 2);
    lines.push(['doubt', `${share} % of it is ${doubts[dominant.source]}`]);
  }
  if (hanger !== null && hanger !== undefined) {
    const wire = `${digits(hanger.diameterMm, 2)} mm copper wire, good for`;
    const rating = `${digits(hanger.ratingAmps, 2)} A`;
    lines.push(['hanger', `${digits(hanger.amps, 3)} A through ${wire} ${rating} in air`]);
  }
  return lines;
}

export function planText(terminal: Terminal, plan: Plan): string {
  const { tank, bath, limits } = plan;
  const figures: [string, string][] = [
    ['piece', pieceText(plan)],
    ['tank', `${tank.name}${tank.simulated ? ' (simulated)' : ''}, ${bath.name}`],
    ['area', ranged(plan.areaDm2, 3, 'dm2')],
    ['density', densityText(plan)],
    ['thickness', `${ranged(plan.thicknessMicrometres, 2, 'µm')}, an average over the piece`],
    ['metal', `${ranged(plan.massGrams, 3, 'g')} of ${plan.metal.name}`],
    ['charge', `${digits(plan.targetChargeAmpHours, 4)} A·h`],
    ['time', duration(plan.durationMs)],
    ['current', `${digits(plan.strikeAmps, 3)} A at first, then ${currentText(plan)}`],
    [
      'voltage',
      `${ranged(plan.expectedVolts, 2, 'V')} expected; it ends at ${digits(limits.maxVolts, 3)} V`,
    ],
    ['anode', `loses ${digits(plan.anodeLossGrams, 3)} g`],
    ['energy', `${digits(plan.energyWattHours, 2)} W·h`],
  ];
  if (deciding(plan) !== '')
    figures.push(['decides', `${deciding(plan)}: thinnest, or first to close`]);
  figures.push(...findings(plan));
  const stages = plan.stages.map((stage): [string, string] => [
    stageNames[stage.kind],
    stageText(stage),
  ]);
  const bounds: [string, string][] = [
    ['current', `${digits(limits.maxAmps, 3)} A`],
    ['time', duration(limits.maxDurationMs)],
    ['charge', `${digits(limits.maxChargeAmpHours, 3)} A·h`],
    ['silence', `${digits(limits.maxSilenceMs / 1000, 2)} s without a reading`],
  ];
  return [
    bold(terminal, 'The plan'),
    columns(figures),
    '',
    bold(terminal, 'Stages'),
    columns(stages),
    '',
    bold(terminal, 'The output goes off beyond'),
    columns(bounds),
    ...(plan.notices.length === 0 ? [] : ['', bold(terminal, 'What speaks for and against it')]),
    ...plan.notices.map((notice) => noticeText(terminal, notice)),
    ...materialsText(terminal, plan),
    '',
    plan.startable
      ? 'It can be started from the page. Acid, current and the night need care: see the cautions in the README.'
      : 'It cannot be started as it is.',
  ].join('\n');
}

/** Each material with its verdict, and what stands under every judgement. */
function materialsText(terminal: Terminal, { materials }: Plan): readonly string[] {
  if (materials === null || materials === undefined) return [];
  const lines = materials.materials.map(({ name, headline, known }): [string, string] => [
    name,
    known ? headline : `${headline}; not in the table`,
  ]);
  return ['', bold(terminal, 'Materials'), columns(lines), `  ${materials.notice}`];
}

function currentText(plan: Plan): string {
  const start = digits(plan.holdStartAmps, 3);
  const end = digits(plan.holdEndAmps, 3);
  return start === end ? `${start} A` : `${start} A growing to ${end} A with the piece`;
}
