/** A plan and a driver of the run machine for tests: a 1 dm2 sheet at 1 A/dm2 in an invented bath. */

import type { Bath } from '../../daemon/chemistry/model.ts';
import { metals } from '../../daemon/chemistry/metals.ts';
import { step } from '../../daemon/run/machine.ts';
import type {
  Plan,
  RunEffect,
  RunInput,
  RunLimits,
  RunReading,
  Stage,
} from '../../daemon/run/model.ts';
import { nothingCarried, type CarriedCharge } from '../../daemon/run/charge.ts';
import { plannedRun, type RunState, type RunTiming } from '../../daemon/run/state.ts';

export const bath: Bath = {
  id: 'test-bath',
  name: 'Test bath',
  metal: 'copper-II',
  agitation: 'still',
  window: { minAmpsPerDm2: 0.2, typicalAmpsPerDm2: 1, maxAmpsPerDm2: 2, source: 'invented' },
  efficiency: { value: 1, uncertainty: 0, source: 'invented' },
  temperature: { minCelsius: 18, maxCelsius: 28, source: 'invented' },
  conductivity: { siemensPerMetre: 15, source: 'invented' },
  loading: { maxAmpsPerLitre: 1, source: 'invented' },
  notes: [],
};

export const timing: RunTiming = {
  cycleMs: 250,
  askedCycleMs: 250,
  followEveryMs: 1_000,
  gapBoundMs: 1_500,
  armedForMs: 15 * 60_000,
  liftReminderMs: 30 * 60_000,
  liftedForMs: 12 * 3_600_000,
  programWithinMs: 3_000,
  setPointsWithinMs: 10_000,
  onWithinMs: 4_000,
  offAlarmMs: 3_000,
};

const minuteMs = 60_000;
export const stages: readonly Stage[] = [
  { kind: 'strike', startAmpsPerDm2: 0.2, endAmpsPerDm2: 0.2, durationMs: 2 * minuteMs },
  { kind: 'ramp', startAmpsPerDm2: 0.2, endAmpsPerDm2: 1, durationMs: 4 * minuteMs },
  { kind: 'hold', startAmpsPerDm2: 1, endAmpsPerDm2: 1, durationMs: 60 * minuteMs },
];

export const limits: RunLimits = {
  maxAmps: 1.5,
  maxVolts: 3,
  setVolts: 2.5,
  overVoltageVolts: 3,
  overCurrentAmps: 1.5,
  maxDurationMs: 2 * 3_600_000,
  maxChargeAmpHours: 1.2,
  maxSilenceMs: 2_000,
};

export function aPlan(changes: Partial<Plan> = {}): Plan {
  const zero = { value: 1, low: 1, high: 1 };
  return {
    request: {
      piece: {
        name: 'sheet',
        parts: [
          {
            kind: 'measured',
            label: 'sheet',
            count: 1,
            platedFraction: 1,
            sizes: { areaMm2: 10_000 },
          },
        ],
        areaUncertainty: 0,
      },
      tankId: 'one',
      bathId: bath.id,
      paint: 'copper',
      densityAmpsPerDm2: 1,
      target: { kind: 'charge', ampHours: 1 },
      trickle: null,
    },
    bath,
    metal: metals['copper-II'],
    tank: {
      id: 'one',
      name: 'One',
      volumeLitres: 2,
      anodeAreaDm2: 2,
      simulated: true,
      maxAmps: 2,
      maxVolts: 4,
      maxHours: 12,
      supply: {
        minAmps: 0,
        maxAmps: 5,
        stepAmps: 0.001,
        maxVolts: 30,
        stepVolts: 0.001,
        meterUncertainty: 0,
        overVoltageLevel: true,
        overCurrentLevel: true,
      },
    },
    growth: { areaMm2: 10_000, meanCurvatureMm: 0, gaussThird: 0 },
    areaDm2: zero,
    stages,
    targetChargeAmpHours: 1,
    thicknessMicrometres: zero,
    massGrams: zero,
    durationMs: 66 * minuteMs,
    strikeAmps: 0.2,
    holdStartAmps: 1,
    holdEndAmps: 1,
    expectedVolts: { value: 0.5, low: 0.3, high: 0.8 },
    anodeLossGrams: 1,
    energyWattHours: 1,
    limits,
    decidingPart: 0,
    notices: [],
    startable: true,
    ...changes,
  };
}

type Confirmation = 'on-confirmed' | 'off-confirmed';

/** Turns the machine by hand: keeps the state, the time and everything it asked for. */
export class Bench {
  state: RunState;
  nowMs = 1_000;
  readonly effects: RunEffect[] = [];
  lastRefusal: string | null = null;

  constructor(plan: Plan = aPlan(), carried: CarriedCharge = nothingCarried) {
    this.state = plannedRun(plan, timing, carried);
  }

  feed(input: RunInput): readonly RunEffect[] {
    const taken = step(this.state, input);
    this.state = taken.state;
    this.effects.push(...taken.effects);
    this.lastRefusal = taken.refused;
    return taken.effects;
  }

  /** Feeds an input now. */
  tell(kind: 'arm' | 'made-durable' | 'start' | 'lift' | 'put-back' | 'disarm' | Confirmation) {
    const atMs = this.nowMs;
    if (kind === 'on-confirmed') return this.feed({ kind, atMs, sentAtMs: atMs });
    if (kind === 'off-confirmed') return this.feed({ kind, atMs, sentAtMs: atMs, amps: null });
    return this.feed({ kind, atMs });
  }

  programmed(): readonly RunEffect[] {
    const { commandedAmps, plan } = this.state;
    return this.feed({
      kind: 'programmed',
      atMs: this.nowMs,
      amps: commandedAmps,
      volts: plan.limits.setVolts,
    });
  }

  reading(changes: Partial<RunReading> = {}): RunReading {
    const outputOn = changes.outputOn === undefined ? true : changes.outputOn;
    const amps = changes.amps ?? this.state.confirmedAmps;
    return {
      atMs: this.nowMs,
      volts: 0.5,
      amps,
      outputOn,
      live: outputOn === true || Math.abs(amps) > 0.02,
      regulation: 'constantCurrent',
      supplyTrips: [],
      setVolts: this.state.plan.limits.setVolts,
      setAmps: this.state.confirmedAmps,
      restarted: false,
      ...changes,
    };
  }

  /** One ordinary tick later: a reading, and the supply confirming what it is asked for. */
  tick(changes: Partial<RunReading> = {}, stepMs = timing.cycleMs): readonly RunEffect[] {
    this.nowMs += stepMs;
    const asked = this.feed({
      kind: 'reading',
      atMs: this.nowMs,
      reading: this.reading({ atMs: this.nowMs, ...changes }),
    });
    if (asked.some((effect) => effect.kind === 'program')) this.programmed();
    return asked;
  }

  /** Ticks until the condition holds; fails when it never does. */
  tickUntil(done: () => boolean, changes: Partial<RunReading> = {}, most = 40_000): void {
    for (let count = 0; count < most; count += 1) {
      if (done()) return;
      this.tick(changes);
    }
    throw new Error(`Not reached within ${most} ticks; the run is ${this.state.lifecycle}.`);
  }

  arm(): this {
    this.tell('arm');
    this.tell('made-durable');
    this.programmed();
    return this;
  }

  start(): this {
    this.arm();
    this.tell('start');
    this.programmed();
    this.tell('on-confirmed');
    return this;
  }

  asked(kind: RunEffect['kind']): readonly RunEffect[] {
    return this.effects.filter((effect) => effect.kind === kind);
  }
}
