/** The options of `nightbath plan`: a piece alone is enough, and every option says what it means. */

import { afterAll, describe, expect, it } from 'vitest';
import { planOptions } from '../../daemon/cli/plan-options.ts';
import { comparisonSchema } from '../../daemon/wire/compare.ts';
import { planFileSchema } from '../../daemon/wire/plan-file.ts';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import { CliBench } from './terminal.ts';

const bench = new CliBench(
  (await import('../settings/bench-folder.ts')).benchToml.replace(
    'trial-dialect',
    'scpi-subsystem',
  ),
);
afterAll(() => bench.remove());

const piece = {
  name: 'Ring',
  areaUncertainty: 0.1,
  parts: [
    {
      kind: 'loop',
      label: 'Shank',
      count: 1,
      platedFraction: 1,
      sizes: { insideDiameterMm: 17, wireDiameterMm: 2 },
    },
    { kind: 'ball', label: '', count: 1, platedFraction: 1, sizes: { diameterMm: 12 } },
  ],
};

const ask = (args: readonly string[], body: unknown = piece) =>
  bench.run(['plan', '-', ...args], JSON.stringify(body));

const usual = ['--paint', 'copper', '--thickness', '100'];

async function planOf(args: readonly string[], body: unknown = piece) {
  const { output, complaints } = await ask([...args, '--json'], body);
  if (output === '') throw new Error(complaints);
  const result = planResultSchema.parse(JSON.parse(output));
  if (!result.ok) throw new Error(result.problems.map(({ message }) => message).join('\n'));
  return result.plan;
}

describe('a piece file', () => {
  it('may hold a piece and nothing else', async () => {
    const { code, output } = await ask(usual);
    expect(code).toBe(0);
    expect(output).toContain('1.50 A/dm2, as this bath is usually run');
    expect(output).toMatch(/thinnest +perhaps/);
    expect(output).toMatch(/doubt +\d+ % of it is the area/);
  });

  it('may hold its plan too, and options go before it', async () => {
    const file = {
      piece,
      paint: 'silver',
      target: { kind: 'thickness', micrometres: 80 },
      densityTyped: '1 A/dm2',
    };
    const plain = await planOf([], file);
    expect(plain.thicknessMicrometres.value).toBeCloseTo(80, 9);
    expect([plain.request.paint, plain.request.densityAmpsPerDm2]).toEqual(['silver', 1]);
    const changed = await planOf(['--paint', 'none', '--density', '2', '--mass', '1'], file);
    expect(changed.request).toMatchObject({ paint: 'none', densityAmpsPerDm2: 2 });
    expect(changed.massGrams.value).toBeCloseTo(1, 9);
  });

  it('may be a piece as the library exports it', async () => {
    const file = { format: 'nightbath-piece', formatVersion: 1, piece, pictures: [] };
    expect((await planOf(usual, file)).request.piece).toEqual(piece);
    const newer = await ask(usual, { ...file, formatVersion: 2 });
    expect(newer.code).toBe(1);
    expect(newer.complaints).toContain('formatVersion');
  });

  it('has a schema that the command prints', async () => {
    const { code, output } = await bench.run(['plan', '--schema']);
    expect(code).toBe(0);
    expect(JSON.parse(output)).toMatchObject({ type: 'object', required: ['piece'] });
    expect(planFileSchema.safeParse({ piece }).success).toBe(true);
  });
});

describe('the options', () => {
  it.each([
    ['200', 200],
    ['0.2 mm', 200],
    ['200 um', 200],
    ['8 mil', 203.2],
  ])('--thickness %s is %f µm', async (text, micrometres) => {
    const plan = await planOf(['--paint', 'copper', '--thickness', text]);
    expect(plan.thicknessMicrometres.value).toBeCloseTo(micrometres, 6);
  });

  it('--density takes a unit and is said as it was typed', async () => {
    const { output } = await ask([...usual, '--density', '0.1 A/in2']);
    expect(output).toContain('1.55 A/dm2, typed as 0.1 A/in2');
    const slipped = await ask([...usual, '--density', '1.0 A/in2']);
    expect(slipped.code).toBe(1);
    expect(slipped.output).toContain('1.0 A/in2 is 15.5 A/dm2, far above');
    expect(slipped.output).toContain('0.1 A/in2 would be 1.55 A/dm2');
  });

  it('--final-size names a part by its label or its number', async () => {
    const byLabel = await planOf([
      '--paint',
      'none',
      '--final-size',
      'shank.insideDiameterMm=16.8',
    ]);
    expect(byLabel.thicknessMicrometres.value).toBeCloseTo(100, 6);
    const byNumber = await planOf(['--paint', 'none', '--final-size', '2.diameterMm=12.3']);
    expect(byNumber.thicknessMicrometres.value).toBeCloseTo(150, 6);
  });

  it('--done-by solves the density, in the zone given', async () => {
    const args = [...usual, '--done-by', '2099-01-01 07:00', '--time-zone', 'America/New_York'];
    const plan = await planOf(args);
    expect(plan.doneBy).toMatchObject({ timeZone: 'America/New_York', clocks: 'once' });
    // 07:00 in New York in winter is 12:00 UTC.
    expect(plan.doneBy?.dueWallMs).toBe(Date.UTC(2099, 0, 1, 12));
    expect(plan.densityFrom).toBe('done-by');
  });

  it('--contacts and --farthest make the start gentler', async () => {
    const args = [
      '--paint',
      'graphite',
      '--thickness',
      '60',
      '--contacts',
      '1',
      '--farthest',
      '60',
    ];
    const plan = await planOf(args);
    expect(plan.contact).toMatchObject({ points: 1, farthestMm: 60 });
  });

  it('--trickle and --trickle-hours keep the piece', async () => {
    const plan = await planOf([...usual, '--trickle', '0.5 mA/cm2', '--trickle-hours', '2']);
    expect(plan.request.trickle).toEqual({ densityAmpsPerDm2: 0.05, maxHours: 2 });
  });

  it('--accept-closure lets an opening close by its name', async () => {
    const tube = {
      ...piece,
      parts: [
        {
          kind: 'tube',
          label: 'Bead',
          count: 1,
          platedFraction: 1,
          sizes: { outsideDiameterMm: 3, insideDiameterMm: 0.3, lengthMm: 3 },
        },
      ],
    };
    const args = ['--paint', 'none', '--thickness', '200'];
    expect((await ask(args, tube)).code).toBe(1);
    const accepted = await ask([...args, '--accept-closure', 'bead'], tube);
    expect(accepted.code).toBe(0);
    expect(accepted.output).toContain('you have accepted that');
  });

  it('--accept-closure takes labels with commas, and numbers', async () => {
    const bead = (label: string) => ({
      kind: 'tube',
      label,
      count: 1,
      platedFraction: 1,
      sizes: { outsideDiameterMm: 3, insideDiameterMm: 0.3, lengthMm: 3 },
    });
    const beads = { ...piece, parts: [bead('Bead, left'), bead('Bead, right'), bead('')] };
    const args = ['--paint', 'none', '--thickness', '200', '--accept-closure'];
    const plan = await planOf([...args, 'bead, left,2, part 3'], beads);
    expect(plan.request.acceptClosures).toEqual(['bead, left', 'part 2', 'part 3']);
    expect(plan.notices.some(({ code }) => code === 'boreCloses')).toBe(false);
  });

  it('--accept-material lets a poisonous material be, and the judgement is printed', async () => {
    const stone = { ...piece, materials: [{ id: 'lapis' }, { id: 'quartz' }] };
    const refused = await ask(usual, stone);
    expect(refused.code).toBe(1);
    expect(refused.output).toContain('hydrogen sulfide');
    expect(refused.output).toMatch(/^Materials$/m);
    expect(refused.output).toContain('never a guarantee');
    const plan = await planOf([...usual, '--accept-material', 'lapis'], stone);
    expect(plan.startable).toBe(true);
    expect(plan.materials?.materials.map(({ id }) => id)).toEqual(['lapis', 'quartz']);
  });

  it('--compare puts densities side by side, in words and as JSON', async () => {
    const words = await ask([...usual, '--compare', '1,0.1 A/in2,2.5']);
    expect(words.code).toBe(0);
    for (const heading of ['1.00 A/dm2', '1.55 A/dm2', '2.50 A/dm2', 'burning', 'at night']) {
      expect(words.output).toContain(heading);
    }
    const json = await ask([...usual, '--compare', '1,2', '--json']);
    const result = comparisonSchema.parse(JSON.parse(json.output));
    expect(result.ok && result.rows).toHaveLength(2);
  });

  it.each([
    [['--paint', 'gold', '--thickness', '100'], '--paint is "gold"'],
    [['--thickness', '100'], 'Say what carries the current'],
    [['--paint', 'none'], 'Say what ends the run'],
    [[...usual, '--mass', '1'], '--thickness and --mass cannot both end the run'],
    [['--paint', 'none', '--thickness', 'thick'], '--thickness is "thick"'],
    [['--paint', 'none', '--mass', '-1'], '--mass'],
    [['--paint', 'none', '--time', '8', '--done-by', '07:00'], 'cannot both end the run'],
    [['--paint', 'none', '--final-size', 'Shank=3'], 'must be PART.SIZE=MM'],
    [['--paint', 'none', '--final-size', 'Lid.diameterMm=3'], 'the piece has Shank, part 2'],
    [[...usual, '--contacts', '2'], '--contacts needs --farthest'],
    [[...usual, '--trickle-hours', '2'], '--trickle-hours needs --trickle'],
    [[...usual, '--compare', '1,fast'], '--compare is "fast"'],
  ])('%j ends with 2 and says why', async (args, words) => {
    const { code, output, complaints } = await ask(args);
    expect([code, output]).toEqual([2, '']);
    expect(complaints).toContain(words);
  });

  it.each([
    [[...usual, '--density', '1,500'], 'densityTyped'],
    [[...usual, '--compare', '1'], 'densitiesAmpsPerDm2'],
    [[...usual, '--done-by', 'dawn'], 'target.localTime'],
    [[...usual, '--done-by', '07:00', '--time-zone', 'Middle/Earth'], 'target.timeZone'],
    [[...usual, '--accept-closure', 'Lid'], 'acceptClosures[0]'],
    [[...usual, '--bath', 'soup'], 'bathId'],
  ])('%j ends with 1 and names %s', async (args, field) => {
    const { code, output, complaints } = await ask(args);
    expect([code, output]).toEqual([1, '']);
    expect(complaints).toContain(field);
  });

  it('are all in the help', async () => {
    const { code, output } = await bench.run(['plan', '--help']);
    expect(code).toBe(0);
    for (const [name, { help }] of Object.entries(planOptions)) {
      expect(output).toContain(`--${name}`);
      expect(help.length).toBeGreaterThan(10);
    }
  });
});
