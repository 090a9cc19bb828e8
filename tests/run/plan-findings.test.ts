/** Contacts, hangers, evenness and doubt: what they say, and that they say it the right way round. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { partDefinitions } from '../../daemon/piece/parts.ts';
import { contactStart, paintSheets, reachMm } from '../../daemon/run/contact.ts';
import { evenness } from '../../daemon/run/evenness.ts';
import { ampsAtRise, hangerLoad, riseKelvinAt } from '../../daemon/run/hanger-wire.ts';
import { startOf } from '../../daemon/run/stages.ts';
import { dominantDoubt, doubtRemedies, uncertaintyTerms } from '../../daemon/run/uncertainty.ts';
import { flat, hourMs, part, pieceOf, planned, stillCopper, twigRequest } from './plan-fixtures.ts';

describe('the contact', () => {
  const usual = { strikeAmpsPerDm2: 0.13, strikeMs: 2 * hourMs };
  const at = (farthestMm: number, points = 1) =>
    contactStart('graphite', { points, farthestMm }, usual, stillCopper);

  test('near paint leaves the usual start as it is', () => {
    expect(at(20)).toMatchObject({ ...usual, advisedPoints: 1 });
  });

  test('the farther the paint, the gentler and the longer the strike', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 500, noNaN: true }),
        fc.double({ min: 1.01, max: 5, noNaN: true }),
        (mm, times) => {
          const [near, far] = [at(mm), at(mm * times)];
          expect(far.strikeAmpsPerDm2).toBeLessThanOrEqual(near.strikeAmpsPerDm2);
          expect(far.strikeMs).toBeGreaterThanOrEqual(near.strikeMs);
          expect(far.advisedPoints).toBeGreaterThanOrEqual(near.advisedPoints);
          expect(near.strikeAmpsPerDm2).toBeLessThanOrEqual(usual.strikeAmpsPerDm2);
          expect(near.strikeMs).toBeGreaterThanOrEqual(usual.strikeMs);
        },
      ),
    );
  });

  test('a strike held back puts the highest density of the bath round its contact, and no more', () => {
    const { strikeAmpsPerDm2 } = at(60);
    const { ohmsPerSquare } = paintSheets.graphite;
    // All of the current on the stretch that is reached: i (L / reach)^2.
    const local = strikeAmpsPerDm2 * (60 / reachMm(ohmsPerSquare, strikeAmpsPerDm2)) ** 2;
    expect(local).toBeCloseTo(stillCopper.window.maxAmpsPerDm2, 9);
  });

  test('the advised contacts need no more than the usual start', () => {
    const far = at(60);
    const advised = at((60 * far.points) / far.advisedPoints, far.advisedPoints);
    expect(advised.strikeAmpsPerDm2).toBeCloseTo(usual.strikeAmpsPerDm2, 9);
    expect(advised.strikeMs).toBe(usual.strikeMs);
  });

  test('silver hardly asks for more, graphite does', () => {
    const contact = { points: 1, farthestMm: 60 };
    const stages = (paint: 'silver' | 'graphite') =>
      [planned({ request: { paint } }), planned({ request: { paint, contact } })].map(
        (plan) => plan.stages[0],
      );
    const [silver, silverFar] = stages('silver');
    expect(silverFar).toEqual(silver);
    const [graphite, graphiteFar] = stages('graphite');
    expect(graphiteFar?.startAmpsPerDm2).toBeLessThan(graphite?.startAmpsPerDm2 ?? 0);
    expect(graphiteFar?.durationMs).toBeGreaterThan(graphite?.durationMs ?? 0);
  });

  test('says nothing on bare metal, and does not change a start that is set by hand', () => {
    const contact = { points: 1, farthestMm: 300 };
    const bare = planned({ request: { paint: 'none', contact } });
    expect(bare.contact).toBeNull();
    const start = { strikeShare: 0.5, strikeMinutes: 10, rampMinutes: 10 };
    const own = startOf({ ...twigRequest, paint: 'graphite', contact, start }, stillCopper);
    expect(own).toMatchObject({ strikeAmpsPerDm2: 0.65, strikeMs: hourMs / 6, own: true });
  });
});

describe('the hanger', () => {
  test('warms to what it was rated at', () => {
    for (const diameter of [0.2, 0.5, 1, 2.5]) {
      for (const rise of [5, 30, 80]) {
        expect(riseKelvinAt(diameter, ampsAtRise(diameter, rise))).toBeCloseTo(rise, 6);
      }
    }
  });

  test('of several wires the current is shared by their cross-section', () => {
    const wire = (wireDiameterMm: number, count: number) =>
      part('hanger', { wireDiameterMm, submergedLengthMm: 40 }, { count });
    const one = hangerLoad(pieceOf([flat(1), wire(0.5, 1)]), 4);
    const four = hangerLoad(pieceOf([flat(1), wire(0.5, 4)]), 4);
    expect(one?.amps).toBeCloseTo(4, 12);
    expect(four?.amps).toBeCloseTo(1, 12);
    const mixed = hangerLoad(pieceOf([flat(1), wire(0.5, 1), wire(1, 1)]), 5);
    expect(mixed?.amps).toBeCloseTo(mixed?.diameterMm === 1 ? 4 : 1, 12);
    expect(hangerLoad(pieceOf([flat(1)]), 4)).toBeNull();
  });

  test('too thin for its current is warned about, then refused', () => {
    const plan = (wireDiameterMm: number) =>
      planned({
        request: {
          piece: pieceOf([flat(2), part('hanger', { wireDiameterMm, submergedLengthMm: 40 })]),
        },
      });
    const severity = (diameter: number) =>
      plan(diameter).notices.find(({ code }) => code === 'hangerWarm')?.severity;
    expect([severity(0.8), severity(0.3), severity(0.2)]).toEqual([undefined, 'warn', 'refuse']);
  });

  test('as thick as advised is not warned about any more', () => {
    const request = (wireDiameterMm: number) => ({
      piece: pieceOf([flat(2), part('hanger', { wireDiameterMm, submergedLengthMm: 40 })]),
    });
    for (const diameter of [0.15, 0.2, 0.25, 0.3]) {
      const words = planned({ request: request(diameter) }).notices.find(
        ({ code }) => code === 'hangerWarm',
      );
      const advised = Number(/wire of ([\d.]+) mm/.exec(words?.remedy ?? '')?.[1]);
      expect(advised).toBeGreaterThan(diameter);
      const codes = planned({ request: request(advised) }).notices.map(({ code }) => code);
      expect(codes).not.toContain('hangerWarm');
    }
  });
});

describe('evenness', () => {
  test('takes the worst form of the piece, and a form that is not known as the usual one', () => {
    const ball = part('ball', { diameterMm: 10 });
    const tube = part('tube', { outsideDiameterMm: 6, insideDiameterMm: 4, lengthMm: 20 });
    const found = evenness(pieceOf([ball, tube]), 0.3, 10 * hourMs);
    expect(found).toMatchObject({ partIndex: 1, published: 6.6, meanToMin: { low: 2, high: 6.6 } });
    expect(found.thinnestMicrometres).toBeCloseTo(300 / 6.6, 12);
    expect(found.turns).toBe(10);
    const unknown = evenness(pieceOf([flat(0.3)]), 0.3, 10 * hourMs);
    expect(unknown).toMatchObject({ published: null, meanToMin: { low: 2, high: 3 } });
    expect(unknown.source).toContain('no source');
  });
});

test('every kind of part that has a form is known by it', () => {
  const formless = ['measured', 'mesh', 'hanger'];
  const kinds = partDefinitions.map(({ kind }) => kind);
  expect(kinds.length).toBeGreaterThan(20);
  for (const kind of kinds) {
    const { form } = evenness(pieceOf([part(kind, {})]), 0.3, hourMs);
    expect([kind, form === 'a form that is not known']).toEqual([kind, formless.includes(kind)]);
  }
});

describe('the largest doubt', () => {
  const sources = (areaShare: number, meterShare: number) => ({
    areaShare,
    meterShare,
    bath: stillCopper,
  });

  test('is the area on a leafy piece and the meter on a well measured one', () => {
    expect(dominantDoubt(sources(0.2, 0.01)).source).toBe('area');
    expect(dominantDoubt(sources(0.2, 0.01)).share).toBeGreaterThan(0.95);
    expect(dominantDoubt(sources(0.01, 0.08)).source).toBe('meter');
    expect(dominantDoubt(sources(0, 0)).source).toBe('efficiency');
  });

  test('shrinks the whole doubt most when it is taken away', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        fc.double({ min: 0, max: 0.3, noNaN: true }),
        (areaShare, meterShare) => {
          const all = sources(areaShare, meterShare);
          const { source, share, remedy } = dominantDoubt(all);
          const squares = uncertaintyTerms(all).map(({ name, down, up }) => ({
            name,
            square: down ** 2 + up ** 2,
          }));
          const whole = squares.reduce((sum, { square }) => sum + square, 0);
          for (const { name, square } of squares) {
            if (name === source) expect(square / whole).toBeCloseTo(share, 12);
            else expect(square / whole).toBeLessThanOrEqual(share);
          }
          expect(remedy).toBe(doubtRemedies[source]);
        },
      ),
    );
  });
});
