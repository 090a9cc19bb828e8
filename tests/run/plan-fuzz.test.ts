/** Any question gets a plan or problems, never an exception, and what it gets can cross the wire. */

import * as fc from 'fast-check';
import { expect, test } from 'vitest';
import type { PartDescription } from '../../daemon/piece/model.ts';
import { partDefinitions } from '../../daemon/piece/parts.ts';
import type { DoneByTarget, PlanQuestion, Target } from '../../daemon/run/model.ts';
import { comparePlans } from '../../daemon/run/plan-compare.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { comparisonSchema } from '../../daemon/wire/compare.ts';
import { planQuestionSchema, planResultSchema } from '../../daemon/wire/plan.ts';
import { beaker, stillCopper } from './plan-fixtures.ts';

const context = { nowWallMs: Date.parse('2026-10-24T19:00:00Z'), timeZone: 'Europe/Berlin' };

/** Numbers over many orders, as slips make them. */
const amount = fc
  .tuple(fc.double({ min: 1, max: 10, noNaN: true }), fc.integer({ min: -3, max: 3 }))
  .map(([digits, power]) => digits * 10 ** power);

const partArbitrary: fc.Arbitrary<PartDescription> = fc
  .constantFrom(...partDefinitions)
  .chain((definition) =>
    fc.record({
      kind: fc.constant(definition.kind),
      label: fc.constantFrom('', 'Shank', 'Head'),
      count: fc.integer({ min: 1, max: 20 }),
      platedFraction: fc.double({ min: 0.01, max: 1, noNaN: true }),
      sizes: fc
        .array(fc.double({ min: 0.9, max: 1.1, noNaN: true }), {
          minLength: definition.fields.length,
          maxLength: definition.fields.length,
        })
        .map((factors) =>
          Object.fromEntries(
            definition.fields.map(({ name, typical, unit }, index) => {
              const size = typical * (factors[index] ?? 1);
              return [name, unit === 'mm' || unit === 'mm2' ? size : typical];
            }),
          ),
        ),
    }),
  );

const sizeTarget = fc.record({
  kind: fc.constant('final-size' as const),
  partIndex: fc.integer({ min: 0, max: 3 }),
  dimension: fc.constantFrom('insideDiameterMm', 'diameterMm', 'wireDiameterMm', 'gapMm', 'x'),
  mm: amount,
});

const goals: fc.Arbitrary<DoneByTarget['goal']> = fc.oneof(
  amount.map((micrometres) => ({ kind: 'thickness' as const, micrometres })),
  amount.map((grams) => ({ kind: 'mass' as const, grams })),
  amount.map((ampHours) => ({ kind: 'charge' as const, ampHours })),
  amount.map((micrometres) => ({ kind: 'thickness' as const, micrometres })),
  sizeTarget,
);

const targets: fc.Arbitrary<Target> = fc.oneof(
  goals,
  amount.map((hours) => ({ kind: 'time' as const, hours })),
  fc.record({
    kind: fc.constant('done-by' as const),
    goal: goals,
    localTime: fc.constantFrom('07:00', '02:30', '2026-10-26 01:00', '24:61'),
  }),
);

const questions: fc.Arbitrary<PlanQuestion> = fc.record({
  piece: fc.record({
    name: fc.constant('Any'),
    parts: fc.array(partArbitrary, { minLength: 1, maxLength: 3 }),
    areaUncertainty: fc.double({ min: 0, max: 0.9, noNaN: true }),
  }),
  tankId: fc.constant(beaker.id),
  bathId: fc.constant(stillCopper.id),
  paint: fc.constantFrom(
    'silver' as const,
    'copper' as const,
    'graphite' as const,
    'none' as const,
  ),
  densityAmpsPerDm2: fc.option(amount, { nil: undefined }),
  densityTyped: fc.option(fc.constantFrom('0.1 A/in2', '12 A/ft2', '1,500', 'much'), {
    nil: undefined,
    freq: 1,
  }),
  target: targets,
  trickle: fc.option(
    fc.record({
      densityAmpsPerDm2: amount,
      maxHours: fc.double({ min: 0.01, max: 30, noNaN: true }),
    }),
  ),
  contact: fc.option(
    fc.record({
      points: fc.integer({ min: 1, max: 50 }),
      farthestMm: fc.double({ min: 0.1, max: 500, noNaN: true }),
    }),
  ),
  acceptClosures: fc.constantFrom(undefined, undefined, undefined, [], ['Shank'], ['part 1']),
});

test('a question of any kind', () => {
  let plans = 0;
  fc.assert(
    fc.property(questions, (question) => {
      expect(planQuestionSchema.safeParse(question).success).toBe(true);
      const result = planRun(question, stillCopper, beaker, context);
      const crossed = planResultSchema.parse(JSON.parse(JSON.stringify(result)));
      if (result.ok) {
        plans += 1;
        expect(crossed.ok && crossed.plan.notices.length).toBe(result.plan.notices.length);
      } else {
        for (const { field, bound, message } of result.problems) {
          expect([field, bound, message]).not.toContain('');
        }
      }
    }),
    { numRuns: 300 },
  );
  // Most questions are answered with a plan, or the test would only look at refusals.
  expect(plans).toBeGreaterThan(50);
});

test('a comparison of any kind', () => {
  fc.assert(
    fc.property(questions, fc.array(amount, { maxLength: 4 }), (question, densities) => {
      const result = comparePlans(question, densities, stillCopper, beaker, context);
      expect(comparisonSchema.safeParse(JSON.parse(JSON.stringify(result))).success).toBe(true);
    }),
    { numRuns: 150 },
  );
});
