/** Ledgers and weigh-ins over HTTP, with the real control desk and a real file behind them. */

import { describe, expect, test } from 'vitest';
import * as z from 'zod/mini';
import { endpoints } from '../../daemon/web/endpoints.ts';
import { ledgerViewSchema, savedEntrySchema, symptomSchema } from '../../daemon/wire/ledger.ts';
import { weighInViewSchema } from '../../daemon/wire/weigh-in.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import { armedWallMs } from '../store/a-run.ts';
import { aGrownRun, aWeighIn, hourMs } from '../store/a-weigh-in.ts';
import { libraryBench, type LibraryBench } from './library-bench.ts';

const bath = '/api/ledger/beaker/acid-copper-still';
const entries = `${bath}/entries`;

async function bench(...runs: ReturnType<typeof aGrownRun>[]): Promise<LibraryBench> {
  const opened = await libraryBench();
  for (const run of runs) await opened.store.createRun(run);
  return opened;
}

/** What a route answered, after a look whether it keeps to its own schema. */
async function ask(one: LibraryBench, method: string, path: string, body?: object) {
  const reply = await one.ask(method, path, body === undefined ? {} : { body });
  const endpoint = endpoints.find(
    (route) =>
      route.method === method.toLowerCase() &&
      new RegExp(`^${route.path.replace(/:\w+/g, '[^/]+')}$`).test(path),
  );
  const schema = endpoint?.answers[reply.status]?.schema ?? problemDocumentSchema;
  expect(schema.safeParse(reply.json()).error, `${method} ${path}`).toBeUndefined();
  return { status: reply.status, body: reply.json() };
}

async function view(one: LibraryBench) {
  return ledgerViewSchema.parse((await ask(one, 'GET', bath)).body);
}

async function weigh(one: LibraryBench, runId: string, weighIn: object | null, version = 0) {
  return ask(one, 'PUT', `/api/runs/${runId}/weigh-in`, { version, weighIn });
}

async function problemsOf(reply: Promise<{ status: number; body: unknown }>) {
  const { status, body } = await reply;
  const { problems } = problemDocumentSchema.parse(body);
  return [status, ...problems.map(({ field, value, bound }) => [field, value, bound])];
}

const now = { atWallMs: null };

describe('the weigh-in of a run', () => {
  test('is empty at first, then gives true efficiency and thickness, and is remembered', async () => {
    const one = await bench(aGrownRun('night'));
    const first = weighInViewSchema.parse((await ask(one, 'GET', '/api/runs/night/weigh-in')).body);
    expect(first).toMatchObject({ saved: null, figures: null, runningEfficiency: null });
    expect(first.why).toBe('Nothing is weighed or measured yet.');
    const { status, body } = await weigh(one, 'night', aWeighIn());
    expect(status).toBe(200);
    // 3.00 g / (2.60 A·h x 1.18549 g/A·h), the equivalent of the electrochemical tables.
    const after = weighInViewSchema.parse(body);
    expect(after.figures?.efficiency?.value).toBeCloseTo(0.9733, 4);
    expect(after.saved).toMatchObject({ version: 1, by: 'the page' });
    expect(after.runningEfficiency).toMatchObject({ count: 1 });
    expect((await ask(one, 'GET', '/api/runs/night/weigh-in')).body).toEqual(body);
  });

  test('is changed, taken back and brought back, and every version stays', async () => {
    const one = await bench(aGrownRun('night'));
    await weigh(one, 'night', aWeighIn());
    await weigh(one, 'night', aWeighIn({ afterGrams: 15.02 }), 1);
    const back = weighInViewSchema.parse((await weigh(one, 'night', null, 2)).body);
    expect(back).toMatchObject({ figures: null, saved: { version: 3, weighIn: null } });
    expect(back.runningEfficiency).toBeNull();
    await weigh(one, 'night', aWeighIn({ afterGrams: 15.02 }), 3);
    const { body } = await ask(one, 'GET', '/api/runs/night/weigh-in/versions');
    expect(body).toMatchObject([{ version: 4 }, { version: 3 }, { version: 2 }, { version: 1 }]);
  });

  test('keeps a mass from before the run until there is something to hold it against', async () => {
    const going = { endedWallMs: null, lifecycle: 'holding', outcome: null } as const;
    const one = await bench(aGrownRun('night', going));
    const { body } = await weigh(one, 'night', aWeighIn({ afterGrams: null }));
    const kept = weighInViewSchema.parse(body);
    expect(kept.saved?.weighIn?.beforeGrams).toBe(12);
    expect(kept.figures).toBeNull();
    expect(kept.why).toMatch(/not over/);
  });

  test('names what is wrong by field, value and bound, and keeps nothing of it', async () => {
    const one = await bench(aGrownRun('night'));
    expect(await problemsOf(weigh(one, 'night', aWeighIn({ afterGrams: 11 })))).toEqual([
      422,
      ['afterGrams', '11', 'more than the mass before, 12 g'],
    ]);
    expect(await problemsOf(weigh(one, 'night', aWeighIn({ balanceGrams: 50 })))).toEqual([
      422,
      ['weighIn.balanceGrams', '50', 'at most 10'],
    ]);
    const label = 'shank';
    const callipers = [{ label, beforeMm: 0, afterMm: 2, growthPerThickness: 3 }];
    expect(await problemsOf(weigh(one, 'night', { ...aWeighIn(), callipers }))).toEqual([
      422,
      ['weighIn.callipers[0].beforeMm', '0', 'more than 0'],
      ['weighIn.callipers[0].growthPerThickness', '3', 'one of -2, -1, 1, 2'],
    ]);
    expect(await problemsOf(weigh(one, 'night', { ...aWeighIn(), ring: 1 }))).toEqual([
      422,
      ['weighIn.ring', '1', 'no field of that name'],
    ]);
    expect((await weigh(one, 'nobody', aWeighIn())).status).toBe(404);
    expect((await ask(one, 'GET', '/api/runs/night/weigh-in/versions')).body).toEqual([]);
  });

  test('of two who looked at the same version only the first is taken', async () => {
    const one = await bench(aGrownRun('night'));
    await weigh(one, 'night', aWeighIn());
    const second = await weigh(one, 'night', aWeighIn({ afterGrams: 15.5 }));
    expect(second.status).toBe(409);
    expect(problemDocumentSchema.parse(second.body).detail).toMatch(/by the page/);
  });

  test('offers an area factor once callipers have measured the piece', async () => {
    const reading = { label: '', beforeMm: 2, afterMm: 2.2, growthPerThickness: 2 } as const;
    const one = await bench(aGrownRun('night'));
    const callipers = [reading, reading, reading];
    const { body } = await weigh(one, 'night', aWeighIn({ callipers }));
    // 3.00 g is 334.8 mm3; on 3000 mm2 at 0.1 mm that is 1.116 times the planned area.
    const { figures, runningAreaFactor } = weighInViewSchema.parse(body);
    expect(figures?.areaFactor?.value).toBeCloseTo(1.116, 3);
    expect(runningAreaFactor?.value).toBeCloseTo(1.116, 3);
  });
});

describe('a ledger', () => {
  test('counts charge since an addition, and says what is due by the published equivalent', async () => {
    const one = await bench(aGrownRun('night'));
    const untouched = await view(one);
    expect(untouched).toMatchObject({ runs: 1, ampHours: 2.6, current: true, ownFigures: false });
    expect(untouched.additions).toMatchObject([
      { name: 'Brightener', ampHoursSince: 2.6, due: true, lastWallMs: null },
    ]);
    expect(untouched.additions[0]?.dueAmount).toBeCloseTo(0.52, 9);
    const entry = { kind: 'addition', name: 'Brightener', unit: 'mL', amount: 0.5, note: '' };
    const atWallMs = armedWallMs + 9 * hourMs;
    const saved = await ask(one, 'POST', entries, { atWallMs, entry });
    expect(savedEntrySchema.parse(saved.body)).toMatchObject({ id: 1, by: 'the page', atWallMs });
    expect((await view(one)).additions[0]).toMatchObject({
      ampHoursSince: 0,
      dueAmount: 0,
      due: false,
      lastWallMs: atWallMs,
      lastAmount: 0.5,
    });
    expect((await ask(one, 'GET', '/api/ledger')).body).toMatchObject([
      { tankId: 'beaker', bathId: 'acid-copper-still', due: [] },
    ]);
  });

  test('leaves the rest of a dose that was given in part due, and counts on from there', async () => {
    // By the figures of the sheet below: 2.6 A·h x 4 mL are 10.4 mL; by hand.
    const one = await bench(aGrownRun('night'));
    const sheet = { name: 'Part A', unit: 'mL', perAmpHour: 4, leastAmount: 5, source: 'sheet' };
    const figures = { additives: [sheet], carbonAmpHoursPerLitre: null, anodes: 'soluble' };
    await ask(one, 'POST', entries, { ...now, entry: { kind: 'figures', ...figures, note: '' } });
    const stand = async () => (await view(one)).additions[0];
    expect((await stand())?.dueAmount).toBeCloseTo(10.4, 9);
    const dose = { kind: 'addition', name: 'Part A', unit: 'mL', note: '' };
    const give = (amount: number, plannedAmount: number | undefined, hours: number) =>
      ask(one, 'POST', entries, {
        atWallMs: armedWallMs + hours * hourMs,
        entry: { ...dose, amount, ...(plannedAmount !== undefined && { plannedAmount }) },
      });
    const { body } = await give(4, 10, 9);
    expect(await stand()).toMatchObject({
      lastAmount: 4,
      leftAmount: 6,
      dueAmount: 6,
      due: true,
      dueAtAmpHours: 0,
    });
    expect((await ask(one, 'GET', '/api/ledger')).body).toMatchObject([
      { due: ['Part A: 6.0 mL due'] },
    ]);
    // Another 2.6 A·h: 6 mL that were left and 10.4 mL more.
    const tenHoursLater = armedWallMs + 10 * hourMs;
    const next = { armedWallMs: tenHoursLater, startedWallMs: tenHoursLater };
    await one.store.createRun(
      aGrownRun('next', { ...next, endedWallMs: tenHoursLater + 8 * hourMs }),
    );
    expect((await stand())?.dueAmount).toBeCloseTo(16.4, 9);
    // Of those 16.4 mL so much is given that the rest is below the smallest dose.
    await give(13, 16.4, 19);
    expect((await stand())?.dueAmount).toBeCloseTo(3.4, 9);
    // (5 - 3.4) mL at 4 mL an A·h.
    expect((await stand())?.dueAtAmpHours).toBeCloseTo(0.4, 9);
    expect((await stand())?.due).toBe(false);
    // The first part as it is corrected does not bring back what the second has settled.
    const { id } = savedEntrySchema.parse(body);
    const whole = { ...dose, amount: 10 };
    await ask(one, 'PUT', `/api/ledger-entries/${id}`, { version: 1, ...now, entry: whole });
    expect((await stand())?.dueAmount).toBeCloseTo(3.4, 9);
    await give(3.4, undefined, 20);
    expect(await stand()).toMatchObject({ leftAmount: 0, dueAmount: 0, due: false });
    expect(await problemsOf(give(4, 4, 21))).toEqual([
      422,
      ['entry.plannedAmount', '4', 'more than the amount, of which it is the whole dose'],
    ]);
  });

  test('reckons anodes by 1.186 g of copper an A·h, and a weighing puts that right', async () => {
    // 1.186 g/A·h: handbook table of electrochemical equivalents (Metal Finishing Guidebook type).
    const one = await bench(aGrownRun('night'));
    const weighed = (grams: number, hours: number) =>
      ask(one, 'POST', entries, {
        atWallMs: armedWallMs + hours * hourMs,
        entry: { kind: 'anode', grams, note: '' },
      });
    await weighed(400, -1);
    const first = (await view(one)).anode;
    expect(first?.leftGrams.value).toBeCloseTo(400 - 2.6 * 1.186, 2);
    expect(first?.expectedGrams).toBeNull();
    await weighed(396.5, 9);
    const second = (await view(one)).anode;
    expect(second).toMatchObject({ weighedGrams: 396.5, ampHoursSince: 0 });
    expect(second?.leftGrams.value).toBe(396.5);
    expect(second?.expectedGrams?.value).toBeCloseTo(400 - 2.6 * 1.186, 2);
  });

  test('goes by the figures of the maker, and by none where they are emptied', async () => {
    const one = await bench(aGrownRun('night'));
    const sheet = { name: 'Part A', unit: 'mL', perAmpHour: 0.1, leastAmount: 1, source: 'sheet' };
    const figures = {
      kind: 'figures',
      additives: [sheet],
      carbonAmpHoursPerLitre: 1,
      anodes: 'insoluble',
      note: '',
    };
    await ask(one, 'POST', entries, { ...now, entry: figures });
    const own = await view(one);
    expect(own).toMatchObject({ ownFigures: true, anode: null, anodes: 'insoluble' });
    expect(own.additions).toMatchObject([{ name: 'Part A', due: false, dueAtAmpHours: 10 }]);
    // The tank holds 2.5 L: 2.6 A·h are 1.04 A·h/L.
    expect(own.carbon).toMatchObject({ due: true, source: "the maker's own figure" });
    // 1.830 g of acid an A·h over insoluble anodes, from the molar mass 98.07 g/mol.
    expect(own.acidGramsPerAmpHour).toBeCloseTo(1.83, 2);
    const none = { ...figures, additives: [], carbonAmpHoursPerLitre: null };
    await ask(one, 'POST', entries, { ...now, entry: none });
    expect(await view(one)).toMatchObject({ additions: [], carbon: null });
  });

  test('tells how hard the newest run works the bath', async () => {
    const one = await bench(aGrownRun('night'));
    const { load } = await view(one);
    // 0.3 dm2 at 1.5 A/dm2 in 2.5 L over 2 dm2 of anode: 0.18 A/L, 0.12 dm2/L, 0.225 A/dm2.
    expect(load?.measures.map(({ id, value, verdict }) => [id, value, verdict])).toEqual([
      ['ampsPerLitre', expect.closeTo(0.18, 6), 'usual'],
      ['dm2PerLitre', expect.closeTo(0.12, 6), 'usual'],
      ['anodeAmpsPerDm2', expect.closeTo(0.225, 6), 'low'],
    ]);
  });

  test('says how far loading, volume and anode area can be trusted', async () => {
    const one = await bench(aGrownRun('night'));
    const { load, doubts } = await view(one);
    // Independent shares add as squares (JCGM 100:2008, 5.1.2): 5 % of the volume (beaker marks, from
    // memory), 10 % of the anode area (common practice, no source), 1 % of this bench's meter.
    const meter = 0.01;
    const halfOf = (id: string): number => {
      const found = load?.measures.find((one) => one.id === id);
      return found === undefined ? Number.NaN : found.range.high / found.value - 1;
    };
    expect(halfOf('ampsPerLitre')).toBeCloseTo(Math.hypot(meter, 0.05), 9);
    expect(halfOf('anodeAmpsPerDm2')).toBeCloseTo(Math.hypot(meter, 0.1), 9);
    const { areaDm2 } = aGrownRun('night').plan;
    const area = areaDm2.high / areaDm2.value - 1;
    expect(halfOf('dm2PerLitre')).toBeCloseTo(Math.hypot(area, 0.05), 9);
    expect(doubts?.volumeLitres).toEqual({
      value: 2.5,
      low: expect.closeTo(2.375, 9),
      high: expect.closeTo(2.625, 9),
    });
    expect(doubts?.anodeAreaDm2.low).toBeCloseTo(1.8, 9);
  });

  test('offers the median of its weigh-ins, which counts once it is taken over and until it is undone', async () => {
    const one = await bench(...['a', 'b', 'c'].map((id) => aGrownRun(id)));
    for (const [id, afterGrams] of [
      ['a', 14.9] as const,
      ['b', 14.95] as const,
      ['c', 13] as const,
    ]) {
      await weigh(one, id, aWeighIn({ afterGrams }));
    }
    const { efficiency } = await view(one);
    const learned = efficiency?.learned;
    // 2.90 g / (2.60 x 1.18549); the one that went wrong does not move it.
    expect(learned?.value).toBeCloseTo(0.9409, 4);
    expect(efficiency?.adopted).toBeNull();
    const entry = { kind: 'efficiency', value: 0.9409, uncertainty: 0.02, weighIns: 3, note: '' };
    const { body } = await ask(one, 'POST', entries, { ...now, entry });
    const { id } = savedEntrySchema.parse(body);
    expect((await view(one)).efficiency?.adopted).toMatchObject({ entry: { value: 0.9409 } });
    await ask(one, 'PUT', `/api/ledger-entries/${id}`, { version: 1, ...now, entry: null });
    expect((await view(one)).efficiency?.adopted).toBeNull();
    expect((await ask(one, 'GET', `/api/ledger-entries/${id}/versions`)).body).toHaveLength(2);
  });

  test('names what is wrong by field, value and bound', async () => {
    const one = await bench();
    const add = (entry: object, atWallMs: number | null = null) =>
      problemsOf(ask(one, 'POST', entries, { atWallMs, entry }));
    expect(await add({ kind: 'temperature', celsius: 200, note: '' })).toEqual([
      422,
      ['entry.celsius', '200', 'at most 110'],
    ]);
    expect(
      await add({ kind: 'addition', name: 'Brightener', unit: 'mL', amount: 0, note: '' }),
    ).toEqual([422, ['entry.amount', '0', 'more than 0']]);
    expect(await add({ kind: 'symptom', symptom: 'green', runId: null, note: '' })).toMatchObject([
      422,
      ['entry.symptom', '"green"', expect.stringContaining('burnt')],
    ]);
    const wide = { kind: 'efficiency', value: 0.3, uncertainty: 0.4, weighIns: 1, note: '' };
    expect(await add(wide)).toEqual([422, ['entry.uncertainty', '0.4', 'less than the value']]);
    const tomorrow = Date.now() + 3 * 24 * hourMs;
    const temperature = { kind: 'temperature', celsius: 21, note: '' };
    expect(await add(temperature, tomorrow)).toMatchObject([
      422,
      ['atWallMs', expect.any(String), expect.any(String)],
    ]);
    const unknown = await ask(one, 'POST', '/api/ledger/beaker/no-such-bath/entries', {
      ...now,
      entry: temperature,
    });
    expect(unknown.status).toBe(404);
    expect((await ask(one, 'GET', '/api/ledger/nowhere/acid-copper-still')).status).toBe(404);
    expect((await view(one)).entries).toEqual([]);
  });

  test('has published causes for each symptom, with where they were published', async () => {
    const one = await bench();
    const { body } = await ask(one, 'GET', '/api/symptoms');
    const list = z.array(symptomSchema).parse(body);
    expect(list.length).toBeGreaterThan(8);
    for (const { causes } of list) expect(causes.every(({ source }) => source !== '')).toBe(true);
    // Metal Finishing Guide Book 2013 p. 286: burning at high density from low copper, cold, little
    // agitation, little chloride; roughness from particles, torn bags, anodes without phosphorus.
    const text = JSON.stringify(body);
    for (const word of ['too cold', 'chloride', 'Particles', 'torn anode bag', 'phosphorus']) {
      expect(text.toLowerCase()).toContain(word.toLowerCase());
    }
  });

  test('is not changed while control is away, and says so', async () => {
    const one = await bench();
    await one.endControl();
    const entry = { kind: 'temperature', celsius: 21, note: '' };
    const reply = await one.ask('POST', entries, { body: { ...now, entry } });
    expect(reply.status).toBe(503);
    expect(problemDocumentSchema.parse(reply.json()).detail).toMatch(/ledger|away/);
  });
});
