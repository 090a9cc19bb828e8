/** Checks plans against worked figures, brute-force integration and themselves. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { cellVolts } from '../../daemon/run/cell-voltage.ts';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import { areaDm2Now, planCurve } from '../../daemon/run/forecast.ts';
import type { Paint, PlanRequest, Target } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { chooseStages, densityAmpsPerDm2At } from '../../daemon/run/stages.ts';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import {
  beaker,
  flat,
  hourMs,
  idealCopper,
  inputs,
  part,
  pieceOf,
  planned,
  stillCopper,
  twigRequest,
} from './plan-fixtures.ts';

/** What a soft switch-on of bare metal costs: half of 5 min of strike, a quarter of 5 min of ramp. */
const bareStartLossHours = 3.75 / 60;

const thickness = (micrometres: number): Target => ({ kind: 'thickness', micrometres });

describe('a plan against worked figures', () => {
  // 0.30 dm2 at 1.5 A/dm2 (0.45 A) for 8 h at full efficiency: 3.600 A·h, 4.268 g, 158.8 µm of
  // copper at 8.96 g/cm3. Worked from Faraday's law, CODATA's F and CIAAW's atomic weight.
  test('eight hours of copper on 0.30 dm2', () => {
    const plan = planned({
      bath: idealCopper,
      request: { paint: 'none', target: { kind: 'charge', ampHours: 3.6 } },
    });
    expect(plan.holdStartAmps).toBeCloseTo(0.45, 12);
    expect(plan.holdEndAmps).toBeCloseTo(0.45, 12);
    expect(plan.massGrams.value).toBeCloseTo(4.268, 3);
    expect(plan.thicknessMicrometres.value).toBeCloseTo(158.8, 1);
    expect(plan.durationMs / hourMs).toBeCloseTo(8 + bareStartLossHours, 9);
    expect(plan.anodeLossGrams).toBeCloseTo(4.268, 3);
  });

  // Hours to a thickness of copper on a flat area at full efficiency, to a tenth of an hour:
  // worked from Faraday's law as above, at 8.96 g/cm3. 1.55 A/dm2 is 0.1 A/in2.
  test.each([
    [50, [3.8, 2.5, 2.4, 1.9, 1.3]],
    [100, [7.6, 5.0, 4.9, 3.8, 2.5]],
    [200, [15.1, 10.1, 9.8, 7.6, 5.0]],
    [300, [22.7, 15.1, 14.6, 11.3, 7.6]],
    [500, [37.8, 25.2, 24.4, 18.9, 12.6]],
  ] as const)('the hours to %i µm at the usual densities', (micrometres, table) => {
    for (const [index, densityAmpsPerDm2] of [1, 1.5, 1.55, 2, 3].entries()) {
      const plan = planned({
        bath: idealCopper,
        request: { paint: 'none', densityAmpsPerDm2, target: thickness(micrometres) },
      });
      const hours = plan.durationMs / hourMs - bareStartLossHours;
      expect(Math.abs(hours - (table[index] ?? 0))).toBeLessThan(0.051);
    }
  });

  // Torus of mid-line radius 9.2 mm and wire radius 1.0 mm, 0.3 mm grown: 363.20 to 472.16 mm2,
  // 1.1227 g, 0.9471 A·h of copper; Pappus' theorem and Faraday's law.
  test('a wire ring grown by 0.3 mm', () => {
    const ring = part('loop', { insideDiameterMm: 16.4, wireDiameterMm: 2 });
    const plan = planned({
      bath: idealCopper,
      request: { piece: pieceOf([ring]), paint: 'none', target: thickness(300) },
    });
    expect(plan.areaDm2.value).toBeCloseTo(0.03632, 5);
    expect(plan.massGrams.value).toBeCloseTo(1.1227, 4);
    expect(plan.targetChargeAmpHours).toBeCloseTo(0.9471, 4);
    expect(plan.holdEndAmps).toBeCloseTo(0.047216 * 1.5, 6);
  });

  test('the anode gives the charge whole, whatever the cathode makes of it', () => {
    const plan = planned();
    expect(plan.massGrams.value / plan.anodeLossGrams).toBeCloseTo(0.985, 12);
  });

  test('the area carries its own range', () => {
    const { areaDm2 } = planned({ request: { piece: pieceOf([flat(0.3)], 0.2) } });
    expect(areaDm2.value).toBeCloseTo(0.3, 12);
    expect(areaDm2.low).toBeCloseTo(0.24, 12);
    expect(areaDm2.high).toBeCloseTo(0.36, 12);
  });

  test('energy is volts times amperes, summed over many small steps', () => {
    const piece = pieceOf([part('wire', { wireDiameterMm: 0.8, lengthMm: 300 })]);
    const plan = planned({ request: { piece } });
    const cell = { bath: stillCopper, volumeLitres: 5, anodeAreaDm2: 2 };
    const { atMs, amps, ampHours } = planCurve(plan, 5_001);
    const watts = amps.map((current, index) => {
      const areaMm2 = 10_000 * areaDm2Now(plan, ampHours[index] ?? 0);
      return current * cellVolts(cell, current, areaMm2);
    });
    const stepHours = (atMs[1] ?? 0) / hourMs;
    const energy = watts.slice(1).reduce((sum, power) => sum + power * stepHours, 0);
    expect(energy / plan.energyWattHours).toBeCloseTo(1, 3);
    const last = cellVolts(cell, plan.holdEndAmps, 10_000 * areaDm2Now(plan, ampHours.at(-1) ?? 0));
    expect(plan.expectedVolts.value).toBeCloseTo(last, 9);
  });
});

/** Faraday's law for copper at full efficiency and 8.96 g/cm3, mm3/A·h, written out again. */
const mm3PerAmpHour = ((63.546 * 3600) / (2 * 96_485.33212) / 8.96) * 1000;

/** Charge and thickness after a time, by Runge-Kutta on dQ/dt = density A(t(V(Q))). */
function integrate(
  request: PlanRequest,
  durationMs: number,
  areaMm2Of: (volumeMm3: number) => number,
): number {
  const stages = chooseStages(request, idealCopper, durationMs);
  const density = (elapsedMs: number): number => {
    let left = elapsedMs;
    for (const stage of stages) {
      if (left <= stage.durationMs) return densityAmpsPerDm2At(stage, left);
      left -= stage.durationMs;
    }
    return request.densityAmpsPerDm2;
  };
  const steps = 4_000;
  const step = durationMs / steps;
  const slope = (elapsedMs: number, charge: number) =>
    (density(elapsedMs) * areaMm2Of(charge * mm3PerAmpHour)) / 10_000 / hourMs;
  let charge = 0;
  for (let index = 0; index < steps; index += 1) {
    const at = index * step;
    const first = slope(at, charge);
    const second = slope(at + step / 2, charge + (first * step) / 2);
    const third = slope(at + step / 2, charge + (second * step) / 2);
    const fourth = slope(at + step, charge + third * step);
    charge += (step / 6) * (first + 2 * second + 2 * third + fourth);
  }
  return charge;
}

describe('a plan against brute-force integration', () => {
  const paints: readonly Paint[] = ['none', 'silver', 'copper', 'graphite'];

  test.each(paints)('a growing ball under %s', (paint) => {
    const radius = 4;
    const ball = pieceOf([part('ball', { diameterMm: 2 * radius })]);
    const request = { piece: ball, paint, target: thickness(600) };
    const plan = planned({ bath: idealCopper, request });
    const charge = integrate(plan.request, plan.durationMs, (volume) => {
      const grown = Math.cbrt(radius ** 3 + (3 * volume) / (4 * Math.PI));
      return 4 * Math.PI * grown ** 2;
    });
    expect(charge / plan.targetChargeAmpHours).toBeCloseTo(1, 6);
  });

  test.each(paints)('a thin wire that triples under %s', (paint) => {
    const [radius, length] = [0.4, 300];
    const wire = pieceOf([part('wire', { wireDiameterMm: 2 * radius, lengthMm: length })]);
    const target: Target = { kind: 'time', hours: 33 };
    const plan = planned({ bath: idealCopper, request: { piece: wire, paint, target } });
    const charge = integrate(plan.request, plan.durationMs, (volume) => {
      const grown = Math.sqrt(radius ** 2 + volume / (Math.PI * length));
      return 2 * Math.PI * grown * length;
    });
    expect(charge / plan.targetChargeAmpHours).toBeCloseTo(1, 6);
  });
});

// Copper paint is struck at a fifth of 1.5 A/dm2 for half an hour, then ramped for 20 minutes.
const small = (ampHours: number) =>
  planned({ bath: idealCopper, request: { target: { kind: 'charge', ampHours } } });

describe('a target so small that the hold is never reached', () => {
  test('falls inside the strike', () => {
    const plan = small(0.3 * 0.3 * 0.25);
    expect(plan.durationMs).toBeCloseTo(0.25 * hourMs, 3);
    expect(plan.holdStartAmps).toBeCloseTo(0.09, 12);
    expect(plan.holdEndAmps).toBeCloseTo(0.09, 12);
    expect(plan.stages.map((stage) => stage.kind)).toEqual(['strike', 'ramp', 'hold']);
    expect(plan.stages[2]?.durationMs).toBe(0);
  });

  test('falls half-way into the ramp', () => {
    // After ten of the twenty minutes the density is 0.9: half an hour at 0.3, ten minutes at 0.6.
    const plan = small(0.3 * (0.3 * 0.5 + 0.6 / 6));
    expect(plan.durationMs).toBeCloseTo((40 / 60) * hourMs, 3);
    expect(plan.holdEndAmps).toBeCloseTo(0.27, 9);
  });

  test('a run of ten minutes brings ten minutes of strike', () => {
    const target: Target = { kind: 'time', hours: 1 / 6 };
    const plan = planned({ bath: idealCopper, request: { target } });
    expect(plan.targetChargeAmpHours).toBeCloseTo((0.3 * 0.3) / 6, 12);
  });
});

const pieces = fc
  .tuple(
    fc.double({ min: 0.3, max: 4, noNaN: true }),
    fc.double({ min: 20, max: 400, noNaN: true }),
    fc.double({ min: 2, max: 40, noNaN: true }),
    fc.double({ min: 0.2, max: 1, noNaN: true }),
  )
  .map(([wire, length, ball, share]) =>
    pieceOf([
      part('wire', { wireDiameterMm: wire, lengthMm: length }),
      part('ball', { diameterMm: ball }, { platedFraction: share, count: 2 }),
      part('sheet', { lengthMm: length / 4, widthMm: 6, thicknessMm: 0.3 }),
    ]),
  );
const requests = fc.record({
  piece: pieces,
  densityAmpsPerDm2: fc.double({ min: 0.06, max: 5, noNaN: true }),
  paint: fc.constantFrom<Paint>('none', 'silver', 'copper', 'graphite'),
  target: fc.oneof(
    fc.double({ min: 1, max: 1500, noNaN: true }).map(thickness),
    fc
      .double({ min: 0.05, max: 60, noNaN: true })
      .map((hours): Target => ({ kind: 'time', hours })),
  ),
  trickle: fc.option(
    fc.record({
      densityAmpsPerDm2: fc.double({ min: 0.001, max: 0.5, noNaN: true }),
      maxHours: fc.double({ min: 0.1, max: 30, noNaN: true }),
    }),
  ),
});

describe('every plan', () => {
  test('agrees with itself when its answer is asked back as a target', () => {
    fc.assert(
      fc.property(requests, (request) => {
        const plan = planned({ request });
        fc.pre(plan.durationMs < 1000 * hourMs);
        const answers: readonly Target[] = [
          thickness(plan.thicknessMicrometres.value),
          { kind: 'charge', ampHours: plan.targetChargeAmpHours },
          { kind: 'mass', grams: plan.massGrams.value },
          { kind: 'time', hours: plan.durationMs / hourMs },
        ];
        for (const target of answers) {
          const back = planned({ request: { ...request, target } });
          for (const ratio of [
            back.thicknessMicrometres.value / plan.thicknessMicrometres.value,
            back.targetChargeAmpHours / plan.targetChargeAmpHours,
            back.massGrams.value / plan.massGrams.value,
            back.durationMs / plan.durationMs,
          ]) {
            expect(Math.abs(ratio - 1)).toBeLessThan(1e-6);
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  test('takes longer and more charge for a larger target', () => {
    const micrometres = fc.double({ min: 0.5, max: 2000, noNaN: true });
    fc.assert(
      fc.property(requests, micrometres, micrometres, (request, first, second) => {
        const less = planned({
          request: { ...request, target: thickness(Math.min(first, second)) },
        });
        const more = planned({
          request: { ...request, target: thickness(Math.max(first, second)) },
        });
        expect(more.durationMs).toBeGreaterThanOrEqual(less.durationMs);
        expect(more.targetChargeAmpHours).toBeGreaterThanOrEqual(less.targetChargeAmpHours);
        expect(more.massGrams.value).toBeGreaterThanOrEqual(less.massGrams.value);
      }),
      { numRuns: 60 },
    );
  });

  test('holds its value inside its own range', () => {
    fc.assert(
      fc.property(requests, (request) => {
        const plan = planned({ request });
        const ranges = [
          plan.areaDm2,
          plan.thicknessMicrometres,
          plan.massGrams,
          plan.expectedVolts,
        ];
        for (const { value, low, high } of ranges) {
          expect(low).toBeLessThanOrEqual(value);
          expect(value).toBeLessThanOrEqual(high);
          expect(low).toBeGreaterThan(0);
        }
      }),
      { numRuns: 60 },
    );
  });

  test('is startable exactly when no notice refuses, and lists the gravest first', () => {
    const weight = { refuse: 0, warn: 1, note: 2 };
    fc.assert(
      fc.property(requests, (request) => {
        const { notices, startable } = planned({ request });
        expect(startable).toBe(!notices.some(({ severity }) => severity === 'refuse'));
        const weights = notices.map(({ severity }) => weight[severity]);
        expect(weights).toEqual(weights.toSorted((first, second) => first - second));
      }),
      { numRuns: 60 },
    );
  });

  test('passes the schema that it crosses the wire by', () => {
    fc.assert(
      fc.property(requests, (request) => {
        const { request: asked, bath, tank } = inputs({ request });
        expect(() => planResultSchema.parse(planRun(asked, bath, tank))).not.toThrow();
      }),
      { numRuns: 40 },
    );
  });

  test('takes the maker’s own start in place of the paint’s', () => {
    const start = { strikeShare: 0.5, strikeMinutes: 3, rampMinutes: 7 };
    const asked = { ...demoPlanRequest(beaker.id, stillCopper.id), start };
    const { request, bath, tank } = inputs({ request: asked });
    const result = planRun(request, bath, tank);
    if (!result.ok) throw new Error(JSON.stringify(result.problems));
    const [strike, ramp, hold] = result.plan.stages;
    expect(strike?.durationMs).toBe(3 * 60_000);
    expect(ramp?.durationMs).toBe(7 * 60_000);
    const typical = bath.window.typicalAmpsPerDm2;
    expect(strike?.startAmpsPerDm2).toBe(0.5 * Math.min(typical, hold?.startAmpsPerDm2 ?? 0));
    const bad = planRun(
      { ...request, start: { ...start, strikeShare: 2, rampMinutes: -1 } },
      bath,
      tank,
    );
    expect(bad.ok ? [] : bad.problems.map((one) => one.field)).toEqual([
      'start.strikeShare',
      'start.rampMinutes',
    ]);
  });

  test('leaves its request as it was', () => {
    expect(planned().request).toEqual(twigRequest);
  });
});

describe('the demonstration piece', () => {
  test('takes seven to eight hours on a 5 A supply in a small still copper tank', () => {
    const plan = planned({ request: demoPlanRequest(beaker.id, stillCopper.id) });
    expect(plan.durationMs / hourMs).toBeGreaterThan(7);
    expect(plan.durationMs / hourMs).toBeLessThan(8);
    expect(plan.startable).toBe(true);
    expect(plan.notices.filter(({ severity }) => severity !== 'note')).toEqual([]);
  });

  test('needs nothing of the tank but its name', () => {
    const { tankId, bathId } = demoPlanRequest('window', 'acid');
    expect({ tankId, bathId }).toEqual({ tankId: 'window', bathId: 'acid' });
  });
});
