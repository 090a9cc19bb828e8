/** Changes to a run under way: target, density and turns, with what they may not overstep. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { changedPlan } from '../../daemon/run/change.ts';
import type { RunChange } from '../../daemon/run/change-model.ts';
import { remainingMs, thicknessNow } from '../../daemon/run/forecast.ts';
import type { PlanRequest, RunEffect } from '../../daemon/run/model.ts';
import { isFinal } from '../../daemon/run/state.ts';
import { callsToTurn } from '../../daemon/run/turning.ts';
import { aPlan, Bench } from './a-run.ts';
import { flat, idealCopper, pieceOf, planned } from './plan-fixtures.ts';

const start = { strikeShare: 0.5, strikeMinutes: 1, rampMinutes: 1 };
const toThickness = (micrometres: number): RunChange => ({
  kind: 'target',
  target: { kind: 'thickness', micrometres },
});
const toDensity = (ampsPerDm2: number): RunChange => ({ kind: 'density', ampsPerDm2 });

/** A flat of 0.3 dm2 on its way to 20 µm at 2 A/dm2; 1,000 ms a tick. */
class Night extends Bench {
  constructor(tank: { maxHours?: number } = {}, trickle: PlanRequest['trickle'] = null) {
    super(
      planned({
        bath: idealCopper,
        request: {
          piece: pieceOf([flat(0.3)]),
          densityAmpsPerDm2: 2,
          target: { kind: 'thickness', micrometres: 20 },
          start,
          trickle,
        },
        tank,
      }),
    );
  }

  until(done: () => boolean): this {
    for (let count = 0; count < 20_000 && !done(); count += 1) this.tick({}, 1_000);
    expect(done()).toBe(true);
    return this;
  }

  held(): this {
    this.start();
    return this.until(() => this.state.lifecycle === 'holding');
  }

  change(change: RunChange, confirmed = false): readonly RunEffect[] {
    return this.feed({ kind: 'change', atMs: this.nowMs, change, confirmed, by: 'Maker' });
  }

  get micrometres(): number {
    return thicknessNow(this.state.plan, this.state.charge.ampHours).value;
  }
}

function messages(effects: readonly RunEffect[]): readonly string[] {
  return effects.flatMap((effect) => (effect.kind === 'event' ? [effect.event.message] : []));
}

describe('another target', () => {
  it('is refused once the target was reached, also while the piece is lifted out of its trickle', () => {
    const night = new Night({}, { densityAmpsPerDm2: 0.2, maxHours: 1 });
    night.start();
    night.until(() => night.state.lifecycle === 'trickling');
    night.change(toThickness(40), true);
    expect(night.lastRefusal).toContain('reached');
    night.tell('lift');
    night.tell('off-confirmed');
    night.change(toThickness(40), true);
    expect(night.lastRefusal).toContain('The target is reached');
    expect(night.state.plan.request.target).toEqual({ kind: 'thickness', micrometres: 20 });
  });

  it('further away is asked for twice, recorded with both values and who, and then reached', () => {
    const night = new Night().held();
    night.change(toThickness(30));
    expect(night.lastRefusal).toContain('press once more');
    const before = night.state.version;
    const told = messages(night.change(toThickness(30), true));
    expect(told).toEqual(['Target changed from 20 µm to 30 µm by Maker.']);
    expect(night.state.version).toBe(before + 1);
    night.until(() => isFinal(night.state.lifecycle));
    expect(night.state.outcome?.end).toBe('reached');
    // 0.3 dm2 of 30 µm is 0.09 cm3: at 8.96 g/cm3 and 63.546 g/mol (CRC Handbook) with two electrons
    // an atom and F = 96485.33 C/mol (CODATA) that takes 0.6802 A·h.
    const ampHours = (0.09 * 8.96 * 2 * 96_485.33) / 63.546 / 3600;
    expect(night.state.charge.ampHours).toBeCloseTo(ampHours, 3);
    expect(night.micrometres).toBeCloseTo(30, 1);
  });

  it('nearer is one press, tightens the limits and ends the run there', () => {
    const night = new Night().held();
    const { limits } = night.state.plan;
    night.change(toThickness(12));
    expect(night.lastRefusal).toBeNull();
    expect(night.state.plan.limits.maxChargeAmpHours).toBeLessThan(limits.maxChargeAmpHours);
    expect(night.state.plan.limits.maxDurationMs).toBeLessThan(limits.maxDurationMs);
    night.until(() => isFinal(night.state.lifecycle));
    expect(night.micrometres).toBeCloseTo(12, 1);
  });

  it('that is passed already is refused with what is there', () => {
    const night = new Night().held();
    night.until(() => night.micrometres > 10);
    night.change(toThickness(5));
    expect(night.lastRefusal).toMatch(/change\.target is "5 µm"; it must be more than the 10 µm/);
    expect(night.state.plan.request.target).toEqual({ kind: 'thickness', micrometres: 20 });
  });

  it('may be a mass or a charge', () => {
    const night = new Night().held();
    night.change({ kind: 'target', target: { kind: 'charge', ampHours: 0.5 } }, true);
    expect(night.lastRefusal).toBeNull();
    const told = messages(
      night.change({ kind: 'target', target: { kind: 'mass', grams: 0.5 } }, true),
    );
    expect(told).toEqual(['Target changed from 0.5 A·h to 0.5 g by Maker.']);
  });

  it('may be a time with the output on, which is when it ends', () => {
    const night = new Night().held();
    // A lift of five minutes: the clock of the run stands still meanwhile.
    night.tell('lift');
    night.tell('off-confirmed');
    for (let tick = 0; tick < 300; tick += 1) night.tick({ outputOn: false, amps: 0 }, 1_000);
    night.tell('put-back');
    night.programmed();
    night.tell('on-confirmed');
    night.until(() => night.state.lifecycle === 'holding');
    const hours = 0.9;
    const time: RunChange = { kind: 'target', target: { kind: 'time', hours } };
    night.change(time);
    expect(night.lastRefusal).toContain('press once more');
    const [told = ''] = messages(night.change(time, true));
    expect(told).toMatch(/^Target changed from 20 µm to 0\.9 h with the output on, about \d+/);
    const { state } = night;
    const left = remainingMs(
      state.plan,
      state.charge.ampHours,
      state.stageIndex,
      state.stageElapsedMs,
    );
    expect(state.poweredMs + left).toBeCloseTo(hours * 3_600_000, 0);
    night.until(() => isFinal(night.state.lifecycle));
    expect(night.state.outcome?.end).toBe('reached');
    // One tick, and a strip of the current's strides.
    expect(Math.abs(night.state.poweredMs - hours * 3_600_000)).toBeLessThan(20_000);
  });

  it.each([
    [0.01, /target\.hours is 0\.01; it must be more than the 0\.0\d+ h/],
    [0, /more than the/],
    [13, /target\.hours is 13; it must be a number up to 12 h/],
    [Number.NaN, /target\.hours is NaN/],
    [Infinity, /target\.hours is Infinity/],
  ])('of %d h is refused by its field and bound', (hours, words) => {
    const night = new Night({ maxHours: 12 }).held();
    const before = night.state;
    night.change({ kind: 'target', target: { kind: 'time', hours } }, true);
    expect(night.lastRefusal).toMatch(words);
    expect(night.state).toBe(before);
  });

  it('by the clock is raised and lowered under the same two presses as a thickness', () => {
    const night = new Night().held();
    const hour = (hours: number): RunChange => ({
      kind: 'target',
      target: { kind: 'time', hours },
    });
    // 20 µm take 0.4534 A·h at 0.6 A by Faraday's law, 46 minutes with the start.
    night.change(hour(0.5));
    expect(night.lastRefusal).toBeNull();
    expect(night.state.plan.thicknessMicrometres.value).toBeLessThan(20);
    night.change(hour(1));
    expect(night.lastRefusal).toContain('press once more');
  });

  it('is refused where the whole run would be longer than the tank allows, by that number', () => {
    const night = new Night({ maxHours: 1 }).held();
    night.change(toThickness(100), true);
    // By Faraday's law 2.267 A·h for 100 µm, at 0.6 A, after two minutes of start at less.
    expect(night.lastRefusal).toMatch(/tank\.maxHours is "3\.79 h"; it must be at most 1 h/);
  });

  it.each([0, -3, Number.NaN, Infinity, 1e9])('of %d µm is refused by its field', (value) => {
    const night = new Night().held();
    const before = night.state;
    night.change(toThickness(value), true);
    expect(night.lastRefusal).toContain('target.micrometres');
    expect(night.state).toBe(before);
  });

  it('that it has already changes nothing', () => {
    const night = new Night().held();
    night.change(toThickness(20), true);
    expect(night.lastRefusal).toContain('It is that already.');
  });
});

describe('another density', () => {
  it('higher is asked for twice, and the current follows it within the limits of arming', () => {
    const night = new Night().held();
    expect(night.state.confirmedAmps).toBeCloseTo(0.6, 3);
    night.change(toDensity(2.2));
    expect(night.lastRefusal).toContain('press once more');
    const told = messages(night.change(toDensity(2.2), true));
    expect(told).toEqual(['Density changed from 2 A/dm2 to 2.2 A/dm2 by Maker.']);
    night.tick({}, 1_000);
    expect(night.state.confirmedAmps).toBeCloseTo(0.66, 3);
    night.until(() => isFinal(night.state.lifecycle));
    expect(night.state.outcome?.end).toBe('reached');
    expect(night.micrometres).toBeCloseTo(20, 1);
  });

  it('lower is one press', () => {
    const night = new Night().held();
    night.change(toDensity(1));
    expect(night.lastRefusal).toBeNull();
    night.tick({}, 1_000);
    expect(night.state.confirmedAmps).toBeCloseTo(0.3, 3);
  });

  it('above what the run was armed for is refused, and the largest that is not is named', () => {
    const night = new Night().held();
    night.change(toDensity(3), true);
    const most = Number(/at most (\d+(?:\.\d+)?) A\/dm2/.exec(night.lastRefusal ?? '')?.[1]);
    // Armed for 1.25 times 0.6 A, of which a fiftieth stays free: 0.735 A on 0.3 dm2.
    expect(most).toBeCloseTo(2.45, 2);
    night.change(toDensity(most + 0.02), true);
    expect(night.lastRefusal).toContain('armed for at most 0.75 A');
    night.change(toDensity(most), true);
    expect(night.lastRefusal).toBeNull();
    night.until(() => isFinal(night.state.lifecycle));
    expect(night.state.outcome?.end, 'it does not trip on its own limit').toBe('reached');
  });

  it('of a plan by the clock keeps the thickness that the clock had come to', () => {
    const request = { ...aPlan().request, target: { kind: 'time', hours: 1 } as const };
    const night = new Night().held();
    const bench = {
      ...night.state,
      plan: {
        ...night.state.plan,
        request: {
          ...request,
          piece: night.state.plan.request.piece,
          tankId: 'beaker',
          bathId: idealCopper.id,
          start,
          densityAmpsPerDm2: 2,
        },
      },
    };
    const answer = changedPlan(bench, toDensity(1.9));
    expect(answer.ok && answer.plan.thicknessMicrometres.value).toBeCloseTo(20, 6);
  });

  it('changed while lifted is what the current rises to after it is put back', () => {
    const night = new Night().held();
    night.tell('lift');
    night.tell('off-confirmed');
    expect(night.change(toDensity(1.5)).map(({ kind }) => kind)).toEqual(['event']);
    night.tell('put-back');
    night.programmed();
    night.tell('on-confirmed');
    night.until(() => night.state.lifecycle === 'holding');
    night.until(() => night.state.confirmedAmps > 0.44);
    expect(night.state.confirmedAmps).toBeCloseTo(0.45, 3);
  });
});

describe('a lift', () => {
  function putBack(night: Night): readonly string[] {
    night.tell('lift');
    night.tell('off-confirmed');
    return messages(night.feed({ kind: 'put-back', atMs: night.nowMs }));
  }

  it('tells at put back where what is left of the longest time will not do for its ramp', () => {
    const roomy = putBack(new Night().held());
    expect(roomy).toEqual(['Put back. The current rises again from low.']);
    const maxHours = new Night().state.plan.durationMs / 3_600_000 + 0.001;
    const [told] = putBack(new Night({ maxHours }).held());
    expect(told).toMatch(
      /^Put back\. .* The target is 0\.\d\d h away, and the longest time of this run leaves 0\.\d\d h: it will be switched off before\. Aim nearer, or carry on in another run\.$/,
    );
  });

  it('has the ramp to come in what a change of it is held against', () => {
    const within = (minutes: number): boolean => {
      const held = new Night().held();
      const { plan, charge, stageIndex, stageElapsedMs, poweredMs } = held.state;
      const leftMs = remainingMs(plan, charge.ampHours, stageIndex, stageElapsedMs);
      const maxHours = (poweredMs + leftMs) / 3_600_000 + minutes / 60;
      const night = new Night({ maxHours }).held();
      night.tell('lift');
      night.tell('off-confirmed');
      // A target that is hardly another one.
      return changedPlan(night.state, toThickness(20.01)).ok;
    };
    // A ramp of a minute from half the current to the whole one loses a quarter of a minute.
    expect(within(0.2)).toBe(false);
    expect(within(0.4)).toBe(true);
  });
});

describe('any change', () => {
  it('leaves current and voltage as they were armed, and never trips the run by itself', () => {
    const change = fc.oneof(
      fc.double({ min: 0.3, max: 4, noNaN: true }).map(toDensity),
      fc.double({ min: 1, max: 400, noNaN: true }).map(toThickness),
    );
    const moment = fc.integer({ min: 0, max: 1_500 });
    fc.assert(
      fc.property(fc.array(fc.tuple(moment, change), { minLength: 1, maxLength: 4 }), (steps) => {
        const night = new Night();
        night.start();
        const armed = night.state.plan.limits;
        for (const [ticks, one] of steps) {
          for (let tick = 0; tick < ticks && !isFinal(night.state.lifecycle); tick += 1) {
            night.tick({}, 1_000);
          }
          night.change(one, true);
          const { maxAmps, maxVolts, setVolts, overCurrentAmps } = night.state.plan.limits;
          expect({ maxAmps, maxVolts, setVolts, overCurrentAmps }).toEqual({
            maxAmps: armed.maxAmps,
            maxVolts: armed.maxVolts,
            setVolts: armed.setVolts,
            overCurrentAmps: armed.overCurrentAmps,
          });
        }
        const { plan, charge, stageIndex, stageElapsedMs } = night.state;
        const left = remainingMs(plan, charge.ampHours, stageIndex, stageElapsedMs);
        for (
          let tick = 0;
          tick < left / 1_000 + 600 && !isFinal(night.state.lifecycle);
          tick += 1
        ) {
          night.tick({}, 1_000);
        }
        expect(night.state.outcome?.end, night.state.outcome?.reason).toBe('reached');
      }),
      { numRuns: 8 },
    );
  });

  it('does not trip on charge that was in doubt before it', () => {
    const night = new Night().held();
    for (let tick = 0; tick < 200; tick += 1) night.tick({}, 1_900);
    expect(night.state.charge.gaps.length).toBeGreaterThan(100);
    night.change(toThickness(12));
    expect(night.lastRefusal).toBeNull();
    night.until(() => isFinal(night.state.lifecycle));
    expect(night.state.outcome?.end).toBe('reached');
  });
});

describe('turning the piece', () => {
  const every = (everyMinutes: number | null) =>
    ({ kind: 'turn-every', everyMinutes, by: 'Maker' }) as const;

  function turningEvery(minutes: number): Night {
    const night = new Night().held();
    night.feed({ ...every(minutes), atMs: night.nowMs });
    expect(night.lastRefusal).toBeNull();
    return night;
  }

  const codes = (night: Night) =>
    night.asked('event').flatMap((effect) => (effect.kind === 'event' ? [effect.event.code] : []));

  it('is due after its time with the output on, told once, and missed a whole interval later', () => {
    const night = turningEvery(5);
    night.until(() => night.state.turning?.isDue === true);
    expect(codes(night).filter((code) => code === 'turnDue')).toHaveLength(1);
    for (let tick = 0; tick < 200; tick += 1) night.tick({}, 1_000);
    expect(codes(night).filter((code) => code === 'turnDue')).toHaveLength(1);
    night.until(() => night.state.turning?.missed === 1);
    expect(codes(night).at(-1)).toBe('turnMissed');
    const told = messages(night.feed({ kind: 'turned', atMs: night.nowMs, by: 'Maker' }));
    expect(told).toEqual(['Turned by Maker.']);
    expect(night.state.turning).toMatchObject({ isDue: false, done: 1, missed: 1 });
  });

  it('reaches a person outside three times in a row, and again once somebody has turned it', () => {
    const night = turningEvery(5);
    const called: boolean[] = [];
    const told = new Set<RunEffect>();
    const listen = (turns: number): void => {
      night.until(() => {
        for (const effect of night.asked('event')) {
          if (effect.kind !== 'event' || told.has(effect)) continue;
          told.add(effect);
          const { code } = effect.event;
          const about = code === 'turnDue' || code === 'turnMissed';
          if (about) called.push(callsToTurn(night.state, code));
          else expect(callsToTurn(night.state, code)).toBe(false);
        }
        return called.length >= turns;
      });
    };
    listen(5);
    expect(called).toEqual([true, true, true, false, false]);
    night.feed({ kind: 'turned', atMs: night.nowMs, by: 'Maker' });
    listen(6);
    expect(called.at(-1)).toBe(true);
    night.feed({ ...every(null), atMs: night.nowMs });
    expect(callsToTurn(night.state, 'turnDue')).toBe(false);
  });

  it('says how late it was done', () => {
    const night = turningEvery(5);
    night.until(() => night.state.turning?.isDue === true);
    for (let tick = 0; tick < 130; tick += 1) night.tick({}, 1_000);
    const told = messages(night.feed({ kind: 'turned', atMs: night.nowMs, by: 'Maker' }));
    expect(told).toEqual(['Turned by Maker, 2 min after it was due.']);
  });

  it('does not count the time in which the piece is lifted', () => {
    const night = turningEvery(5);
    night.tell('lift');
    night.tell('off-confirmed');
    for (let tick = 0; tick < 600; tick += 1) night.tick({ outputOn: false, amps: 0 }, 1_000);
    expect(night.state.turning?.isDue).toBe(false);
  });

  it('is ended by nobody wanting it, and refuses what makes no sense', () => {
    const night = turningEvery(30);
    night.feed({ ...every(null), atMs: night.nowMs });
    expect(night.state.turning).toBeNull();
    night.feed({ kind: 'turned', atMs: night.nowMs, by: 'Maker' });
    expect(night.lastRefusal).toBe('No reminder to turn is set.');
    for (const minutes of [0, 4, 1441, Number.NaN, -5]) {
      night.feed({ ...every(minutes), atMs: night.nowMs });
      expect(night.lastRefusal).toMatch(
        /^everyMinutes is .*; it must be a number from 5 to 1440\.$/,
      );
    }
  });
});
