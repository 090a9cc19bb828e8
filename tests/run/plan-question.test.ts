/** What a request leaves open is solved, and solving forwards and backwards agrees. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { DoneByTarget, Plan, PlanQuestion, Target } from '../../daemon/run/model.ts';
import { thicknessNow } from '../../daemon/run/forecast.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { planQuestionSchema, planRequestSchema, planSchema } from '../../daemon/wire/plan.ts';
import {
  beaker,
  flat,
  hourMs,
  inputs,
  part,
  pieceOf,
  planned,
  stillCopper,
  twigRequest,
} from './plan-fixtures.ts';

/** 21:00 in Berlin on 25 November 2026. */
const nowWallMs = Date.parse('2026-11-25T20:00:00Z');
const context = { nowWallMs, timeZone: 'Europe/Berlin' };
const roomy = { ...beaker, maxHours: 1000 };

const ring = part('loop', { insideDiameterMm: 17, wireDiameterMm: 2 }, { label: 'Shank' });

function ask(question: PlanQuestion, given: typeof context | object = context): Plan {
  const result = planRun(question, stillCopper, roomy, given);
  if (!result.ok) throw new Error(result.problems.map(({ message }) => message).join('\n'));
  return result.plan;
}

const { densityAmpsPerDm2: _, ...open } = twigRequest;

const doneBy = (localTime: string, goal: DoneByTarget['goal']): Target => ({
  kind: 'done-by',
  goal,
  localTime,
});

describe('the density of a question', () => {
  test('is the typical one of the bath where none is given', () => {
    const plan = ask(open);
    expect(plan.request.densityAmpsPerDm2).toBe(stillCopper.window.typicalAmpsPerDm2);
    expect(plan.densityFrom).toBe('window');
    expect(planned().densityFrom).toBe('typed');
  });

  test('is what was typed, in its unit', () => {
    const plan = ask({ ...open, densityTyped: '0.1 A/in2' });
    expect(plan.request.densityAmpsPerDm2).toBeCloseTo(1.550_003, 6);
    expect(plan.request.densityTyped).toBe('0.1 A/in2');
  });

  test('may be given twice if it is the same', () => {
    const same = { ...open, densityTyped: '0.1 A/in2', densityAmpsPerDm2: 1.55 };
    expect(ask(same).request.densityAmpsPerDm2).toBeCloseTo(1.550_003, 6);
    const other = planRun({ ...same, densityAmpsPerDm2: 15.5 }, stillCopper, roomy);
    expect(other).toMatchObject({ ok: false, problems: [{ field: 'densityTyped' }] });
  });
});

describe('slips of a typed density', () => {
  const noticeOf = (densityTyped: string) =>
    ask({ ...open, densityTyped }).notices.find(({ field }) => field === 'densityAmpsPerDm2');

  // The table of A/in2 for a still bath: common practice, no source; 0.1 A/in2 is 1.55 A/dm2.
  test('a tenfold slip in A/in2 is named in A/in2', () => {
    const notice = noticeOf('1.0 A/in2');
    expect(notice?.severity).toBe('refuse');
    expect(notice?.message).toContain('1.0 A/in2 is 15.5 A/dm2, far above the 2 A/dm2');
    expect(notice?.message).toContain('a still bath can carry');
    expect(notice?.remedy).toContain('0.1 A/in2 would be 1.55 A/dm2');
    expect(noticeOf('0.01 A/in2')?.remedy).toContain('0.1 A/in2 would be 1.55 A/dm2');
  });

  test.each([
    ['15 A/in2', '15 A/ft2 would be 1.61 A/dm2'],
    ['1.3 A/cm2', '0.013 A/cm2 would be 1.3 A/dm2'],
    ['1.3 A/ft2', 'A/dm2 was meant, 1.3 A/dm2 lies inside the window'],
    ['1.3 mA/cm2', '13 mA/cm2 would be 1.3 A/dm2'],
    ['8.39 A/ft2', null],
    ['0.2 A/in2', 'both sides make it 1.55 A/dm2'],
    ['0.6 A/in2', 'square inches was read as cm2, the density is 1.44 A/dm2'],
  ])('%s: %s', (typed, clause) => {
    const notice = noticeOf(typed);
    if (clause === null) expect(notice).toBeUndefined();
    else expect(notice?.remedy).toContain(clause);
  });
});

describe('a final size', () => {
  const final = (dimension: string, mm: number): Target => ({
    kind: 'final-size',
    partIndex: 0,
    dimension,
    mm,
  });
  const question: PlanQuestion = { ...open, piece: pieceOf([ring]), densityAmpsPerDm2: 1.5 };

  test('is reached by half of what it loses on each side', () => {
    const plan = ask({ ...question, target: final('insideDiameterMm', 16.5) });
    expect(plan.thicknessMicrometres.value).toBeCloseTo(250, 9);
    expect(plan.finalSize).toMatchObject({ partIndex: 0, beforeMm: 17 });
    expect(plan.finalSize?.afterMm.value).toBeCloseTo(16.5, 12);
    expect(plan.finalSize?.afterMm.low).toBeLessThan(16.5);
    expect(plan.finalSize?.afterMm.high).toBeGreaterThan(16.5);
  });

  test('agrees with the same thickness asked for, to 1e-6', () => {
    fc.assert(
      fc.property(fc.double({ min: 15, max: 16.98, noNaN: true }), (mm) => {
        const sized = ask({ ...question, target: final('insideDiameterMm', mm) });
        const micrometres = ((17 - mm) / 2) * 1000;
        const thick = ask({ ...question, target: { kind: 'thickness', micrometres } });
        expect(sized.targetChargeAmpHours / thick.targetChargeAmpHours).toBeCloseTo(1, 6);
        expect(sized.durationMs / thick.durationMs).toBeCloseTo(1, 6);
        expect((sized.finalSize?.afterMm.value ?? 0) / mm).toBeCloseTo(1, 6);
      }),
      { numRuns: 40 },
    );
  });

  test.each([
    ['insideDiameterMm', 17.5, 'target.mm', 'below 17 mm'],
    ['wireDiameterMm', 1.5, 'target.mm', 'above 2 mm'],
    ['colour', 3, 'target.dimension', 'one of'],
  ])('%s of %f mm is refused by %s', (dimension, mm, field, bound) => {
    const result = planRun({ ...question, target: final(dimension, mm) }, stillCopper, roomy);
    expect(result).toMatchObject({ ok: false, problems: [{ field }] });
    expect(result.ok ? '' : result.problems[0]?.bound).toContain(bound);
  });

  test('of a part that is not there is refused', () => {
    const target = { kind: 'final-size', partIndex: 4, dimension: 'x', mm: 1 } as const;
    const result = planRun({ ...question, target }, stillCopper, roomy);
    expect(result).toMatchObject({ ok: false, problems: [{ field: 'target.partIndex' }] });
  });
});

describe('done by a time of day', () => {
  const goal = { kind: 'thickness', micrometres: 150 } as const;

  test('solves the density, and the thickness stays what was asked', () => {
    const plan = ask({ ...open, target: doneBy('07:00', goal) });
    expect(plan.thicknessMicrometres.value).toBeCloseTo(150, 9);
    expect(plan.durationMs / (10 * hourMs)).toBeCloseTo(1, 9);
    expect(plan.doneBy?.endWallMs).toBeCloseTo(Date.parse('2026-11-26T06:00:00Z'), -1);
    expect(plan.densityFrom).toBe('done-by');
    expect(plan.startable).toBe(true);
  });

  test('takes the hour from the night on which the clocks change', () => {
    const spring = { ...context, nowWallMs: Date.parse('2027-03-27T20:00:00Z') };
    const autumn = { ...context, nowWallMs: Date.parse('2027-10-30T19:00:00Z') };
    const target = doneBy('07:00', goal);
    expect(ask({ ...open, target }, spring).durationMs / hourMs).toBeCloseTo(9, 9);
    expect(ask({ ...open, target }, autumn).durationMs / hourMs).toBeCloseTo(11, 9);
  });

  test('density to end and back to density agree to 1e-6, for every goal', () => {
    const goals = fc.constantFrom<DoneByTarget['goal']>(
      { kind: 'thickness', micrometres: 150 },
      { kind: 'mass', grams: 1.2 },
      { kind: 'charge', ampHours: 1.1 },
      { kind: 'final-size', partIndex: 0, dimension: 'insideDiameterMm', mm: 16.7 },
    );
    const piece = pieceOf([ring, part('ball', { diameterMm: 14 })]);
    fc.assert(
      fc.property(goals, fc.integer({ min: 6 * 60, max: 20 * 60 }), (wanted, minutes) => {
        const due = new Date(nowWallMs + minutes * 60_000 + hourMs).toISOString().slice(0, 16);
        const solved = ask({ ...open, piece, target: doneBy(due, wanted) });
        const { window } = stillCopper;
        const { densityAmpsPerDm2 } = solved.request;
        expect(densityAmpsPerDm2).toBeGreaterThanOrEqual(window.minAmpsPerDm2);
        expect(densityAmpsPerDm2).toBeLessThanOrEqual(window.maxAmpsPerDm2);
        const plain = ask({ ...open, piece, densityAmpsPerDm2, target: wanted });
        const endWallMs = nowWallMs + plain.durationMs;
        expect(plain.durationMs / solved.durationMs).toBeCloseTo(1, 6);
        const inside =
          densityAmpsPerDm2 > window.minAmpsPerDm2 && densityAmpsPerDm2 < window.maxAmpsPerDm2;
        const wantedMs = minutes * 60_000;
        if (inside) expect((endWallMs - nowWallMs) / wantedMs).toBeCloseTo(1, 6);
        else if (densityAmpsPerDm2 === window.minAmpsPerDm2) {
          expect(plain.durationMs).toBeLessThanOrEqual(wantedMs);
        } else expect(solved.startable).toBe(false);
      }),
      { numRuns: 60 },
    );
  });

  test('is refused with the earliest time, and that time is not refused', () => {
    const early = ask({ ...open, target: doneBy('23:00', goal) });
    expect(early.startable).toBe(false);
    expect(early.request.densityAmpsPerDm2).toBe(stillCopper.window.maxAmpsPerDm2);
    const notice = early.notices.find(({ code }) => code === 'doneByTooEarly');
    const clock = /The earliest is (\d\d:\d\d) on Thursday 26 November/.exec(notice?.remedy ?? '');
    const again = ask({ ...open, target: doneBy(clock?.[1] ?? '', goal) });
    expect(again.startable).toBe(true);
    expect(again.request.densityAmpsPerDm2).toBeGreaterThan(1.9);
  });

  test('a supply too small for the window sets the earliest time', () => {
    const weak = { ...roomy, maxAmps: 0.4 };
    const question = { ...open, target: doneBy('23:00', goal) };
    const result = planRun(question, stillCopper, weak, context);
    const plan = result.ok ? result.plan : null;
    // 0.4 A less a fiftieth, on 0.3 dm2.
    expect(plan?.request.densityAmpsPerDm2).toBeCloseTo(0.392 / 0.3, 9);
    expect(plan?.notices.map(({ code }) => code)).not.toContain('currentBeyondBound');
  });

  test('keeps within what the tank allows, and says so', () => {
    const question = { ...open, target: doneBy('2026-11-28 07:00', goal) };
    const result = planRun(question, stillCopper, { ...roomy, maxHours: 10 }, context);
    const plan = result.ok ? result.plan : null;
    expect((plan?.durationMs ?? 0) / hourMs).toBeCloseTo(9.5, 9);
    expect(plan?.startable).toBe(true);
    expect(plan?.notices.map(({ code }) => code)).not.toContain('timeTight');
    const words = plan?.notices.find(({ code }) => code === 'doneBy')?.message;
    expect(words).toContain('within the 10 h of this tank');
  });

  test('is promised nothing where the plan is refused for another cause', () => {
    const codesOf = (question: PlanQuestion, tank: typeof roomy) => {
      const result = planRun(question, stillCopper, tank, context);
      if (!result.ok) throw new Error(result.problems.map(({ message }) => message).join('\n'));
      return result.plan.notices
        .filter(({ severity }) => severity !== 'warn')
        .map(({ code }) => code);
    };
    const target = doneBy('2026-11-28 07:00', goal);
    const trickle = { densityAmpsPerDm2: 0.05, maxHours: 12 };
    const filled = codesOf({ ...open, target, trickle }, { ...roomy, maxHours: 12 });
    expect(filled).toContain('tooLong');
    expect(filled).not.toContain('doneBy');
    const weak = codesOf({ ...open, piece: pieceOf([flat(10)]), target }, { ...roomy, maxAmps: 2 });
    expect(weak).toContain('doneByBelowWindow');
    expect(weak).not.toContain('doneBy');
    expect(weak).not.toContain('currentBeyondBound');
    const short = codesOf({ ...open, target: doneBy('23:00', goal) }, { ...roomy, maxHours: 1 });
    expect(short).toContain('tooLong');
    expect(short).not.toContain('doneByTooEarly');
  });

  test('with time to spare takes the foot of the window and says when it ends', () => {
    const plan = ask({ ...open, target: doneBy('2026-11-28 07:00', goal) });
    expect(plan.request.densityAmpsPerDm2).toBe(stillCopper.window.minAmpsPerDm2);
    expect(plan.notices.find(({ code }) => code === 'doneBy')?.message).toContain(
      'before the time',
    );
  });

  test('its own request gives the same plan again, without an hour from outside', () => {
    const first = ask({ ...open, target: doneBy('07:00', goal) });
    const again = ask(planRequestSchema.parse(JSON.parse(JSON.stringify(first.request))), {});
    expect(again).toEqual(first);
  });

  test.each([
    [{ timeZone: 'Middle/Earth' }, 'target.timeZone'],
    [{ nowWallMs: 1_795_636_800 }, 'target.nowWallMs'],
    [{ localTime: '25:00' }, 'target.localTime'],
    [{ localTime: '2020-01-01 07:00' }, 'target.localTime'],
  ])('%j is refused by its field', (change, field) => {
    const target = { kind: 'done-by', goal, localTime: '07:00', ...change } as const;
    const result = planRun({ ...open, target }, stillCopper, roomy, context);
    expect(result).toMatchObject({ ok: false, problems: [{ field }] });
  });

  test('without an hour or a zone it cannot be planned', () => {
    const question = { ...open, target: doneBy('07:00', goal) };
    const fieldOf = (given: object) => {
      const result = planRun(question, stillCopper, roomy, given);
      return result.ok ? '' : result.problems[0]?.field;
    };
    expect(fieldOf({})).toBe('target.timeZone');
    expect(fieldOf({ timeZone: 'Europe/Berlin' })).toBe('target.nowWallMs');
  });
});

describe('plain targets forwards and backwards', () => {
  test('thickness, time, mass and charge lead back to each other to 1e-6', () => {
    const piece = pieceOf([ring, part('wire', { wireDiameterMm: 1, lengthMm: 80 })]);
    fc.assert(
      fc.property(
        fc.double({ min: 25, max: 600, noNaN: true }),
        fc.double({ min: 0.5, max: 2, noNaN: true }),
        (micrometres, densityAmpsPerDm2) => {
          const asked = (target: Target) => ask({ ...open, piece, densityAmpsPerDm2, target });
          const first = asked({ kind: 'thickness', micrometres });
          const back = [
            asked({ kind: 'time', hours: first.durationMs / hourMs }),
            asked({ kind: 'mass', grams: first.massGrams.value }),
            asked({ kind: 'charge', ampHours: first.targetChargeAmpHours }),
          ];
          for (const plan of back) {
            expect(plan.thicknessMicrometres.value / micrometres).toBeCloseTo(1, 6);
            expect(plan.durationMs / first.durationMs).toBeCloseTo(1, 6);
          }
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('openings that may close', () => {
  const tube = part(
    'tube',
    { outsideDiameterMm: 2, insideDiameterMm: 0.4, lengthMm: 30 },
    { label: 'Shank' },
  );
  const other = part(
    'tube',
    { outsideDiameterMm: 3, insideDiameterMm: 0.5, lengthMm: 30 },
    { label: '' },
  );
  const question: PlanQuestion = {
    ...open,
    piece: pieceOf([flat(0.2), tube, other]),
    target: { kind: 'thickness', micrometres: 300 },
  };
  const codes = (acceptClosures: readonly string[]) =>
    ask({ ...question, acceptClosures })
      .notices.filter(({ code }) => /^(bore|closing)/.test(code))
      .map(({ code, field }) => `${code} ${field}`);

  test('are each refused until each is accepted by its name', () => {
    expect(codes([])).toEqual(['boreCloses piece.parts[1]', 'boreCloses piece.parts[2]']);
    expect(codes(['shank'])).toEqual([
      'boreCloses piece.parts[2]',
      'closingAccepted piece.parts[1]',
    ]);
    expect(codes(['Shank', 'part 3'])).toEqual([
      'closingAccepted piece.parts[1]',
      'closingAccepted piece.parts[2]',
    ]);
  });

  test('that are accepted no longer hold the others back', () => {
    const ball = part('ball', { diameterMm: 12 }, { label: 'Head' });
    const target: Target = { kind: 'thickness', micrometres: 600 };
    const accepted = {
      ...question,
      piece: pieceOf([ball, tube]),
      target,
      acceptClosures: ['Shank'],
    };
    const plan = ask(accepted);
    const alone = ask({ ...question, piece: pieceOf([ball]), target });
    // The tube of 2 mm outside and 30 mm length shuts at 0.2 mm, by Pappus: A = 2 pi (R + r)(R - r + L),
    // H = pi^2 (R + r); from there on its area stays.
    const [outside, inside, length, shut, end] = [1, 0.2, 30, 0.2, 0.6];
    const area = 2 * Math.PI * (outside + inside) * (outside - inside + length);
    const curvature = Math.PI ** 2 * (outside + inside);
    const atShut = area * shut + curvature * shut ** 2;
    const tubeMm3 = atShut + (area + 2 * curvature * shut) * (end - shut);
    const tubeGrams = (tubeMm3 / 1000) * plan.metal.densityGramsPerCm3;
    expect(plan.massGrams.value).toBeCloseTo(alone.massGrams.value + tubeGrams, 9);
    for (const ampHours of [0.1, 0.5, 1].map((share) => share * plan.targetChargeAmpHours)) {
      const { value } = thicknessNow(plan, ampHours);
      const again = ask({ ...accepted, target: { kind: 'thickness', micrometres: value } });
      expect(again.targetChargeAmpHours / ampHours).toBeCloseTo(1, 9);
    }
  });

  test('have to be there to be accepted', () => {
    const result = planRun({ ...question, acceptClosures: ['Lid'] }, stillCopper, roomy);
    expect(result).toMatchObject({ ok: false, problems: [{ field: 'acceptClosures[0]' }] });
  });
});

describe('what crosses the wire', () => {
  test('a question may leave its density open, a request may not', () => {
    expect(planQuestionSchema.safeParse(open).success).toBe(true);
    expect(planRequestSchema.safeParse(open).success).toBe(false);
  });

  test('a plan with all its findings comes back as it went', () => {
    const { request } = inputs({});
    const plan = ask({
      ...request,
      densityTyped: '1.5',
      piece: pieceOf([ring, part('hanger', { wireDiameterMm: 0.8, submergedLengthMm: 40 })]),
      contact: { points: 2, farthestMm: 40 },
      target: doneBy('07:00', {
        kind: 'final-size',
        partIndex: 0,
        dimension: 'insideDiameterMm',
        mm: 16.7,
      }),
    });
    const findings = [
      plan.evenness,
      plan.dominant,
      plan.hanger,
      plan.contact,
      plan.doneBy,
      plan.finalSize,
    ];
    expect(findings.every((found) => found !== null && found !== undefined)).toBe(true);
    expect(planSchema.parse(JSON.parse(JSON.stringify(plan)))).toEqual(plan);
  });

  test('a plan stored before there were findings is still read', () => {
    const stored: Record<string, unknown> = JSON.parse(JSON.stringify(planned()));
    for (const name of [
      'densityFrom',
      'evenness',
      'dominant',
      'hanger',
      'contact',
      'doneBy',
      'finalSize',
    ]) {
      expect(delete stored[name]).toBe(true);
    }
    expect(planSchema.safeParse(stored).success).toBe(true);
  });
});
