/** Runs, readings, events and alarms for the store's tests: a cast seed head in an invented bath. */

import type { NewAlarm, NewEvent } from '../../daemon/store/door.ts';
import { runRecordSchema, type ReadingRow, type RunRecord } from '../../daemon/wire/run.ts';

export const armedWallMs = Date.UTC(2026, 0, 10, 21, 0, 0);

const same = (value: number) => ({ value, low: value * 0.9, high: value * 1.1 });

const plan = {
  request: {
    piece: {
      name: 'Seed head, “first” cast',
      parts: [
        {
          kind: 'ball',
          label: 'head',
          count: 1,
          platedFraction: 1,
          sizes: { diameterMm: 30 },
        },
      ],
      areaUncertainty: 0.1,
    },
    tankId: 'beaker',
    bathId: 'invented-bath',
    paint: 'graphite',
    densityAmpsPerDm2: 1.5,
    target: { kind: 'thickness', micrometres: 120 },
    trickle: null,
  },
  bath: {
    id: 'invented-bath',
    name: 'Invented bath',
    metal: 'copper-II',
    agitation: 'still',
    window: {
      minAmpsPerDm2: 0.5,
      typicalAmpsPerDm2: 1.5,
      maxAmpsPerDm2: 3,
      source: 'invented',
    },
    efficiency: { value: 0.98, uncertainty: 0.02, source: 'invented' },
    temperature: { minCelsius: 18, maxCelsius: 28, source: 'invented' },
    conductivity: { siemensPerMetre: 15, source: 'invented' },
    loading: { maxAmpsPerLitre: 1, source: 'invented' },
    notes: [],
  },
  metal: {
    id: 'copper-II',
    name: 'copper',
    symbol: 'Cu',
    molarMassGramsPerMol: 63.546,
    molarMassSource: 'invented',
    valence: 2,
    densityGramsPerCm3: 8.96,
    densitySource: 'invented',
  },
  tank: {
    id: 'beaker',
    name: 'Beaker',
    volumeLitres: 1.5,
    anodeAreaDm2: 1,
    simulated: true,
    maxAmps: 1,
    maxVolts: 4,
    maxHours: 16,
    supply: {
      minAmps: 0,
      maxAmps: 5,
      stepAmps: 0.001,
      maxVolts: 30,
      stepVolts: 0.001,
      meterUncertainty: 0.005,
      overVoltageLevel: true,
      overCurrentLevel: true,
    },
  },
  growth: { areaMm2: 2827.43, meanCurvatureMm: 188.5, gaussThird: 4.18879 },
  areaDm2: same(0.2827),
  stages: [
    { kind: 'strike', startAmpsPerDm2: 0.3, endAmpsPerDm2: 0.3, durationMs: 1_200_000 },
    { kind: 'hold', startAmpsPerDm2: 1.5, endAmpsPerDm2: 1.5, durationMs: 21_600_000 },
  ],
  targetChargeAmpHours: 2.5,
  thicknessMicrometres: same(120),
  massGrams: same(3),
  durationMs: 22_800_000,
  strikeAmps: 0.085,
  holdStartAmps: 0.42,
  holdEndAmps: 0.43,
  expectedVolts: same(0.8),
  anodeLossGrams: 3.1,
  energyWattHours: 2,
  limits: {
    maxAmps: 0.6,
    maxVolts: 4,
    setVolts: 3,
    overVoltageVolts: 3.5,
    overCurrentAmps: 0.6,
    maxDurationMs: 57_600_000,
    maxChargeAmpHours: 3,
    maxSilenceMs: 2000,
  },
  decidingPart: 0,
  notices: [],
  startable: true,
};

/** Checked against the wire's schema, so that a fixture that went stale fails by itself. */
export function aRun(id: string, changes: Partial<RunRecord> = {}): RunRecord {
  return runRecordSchema.parse({
    id,
    kind: 'run',
    tankId: 'beaker',
    continues: null,
    carriedAmpHours: 0,
    simulated: true,
    plan,
    checklist: ['polarity', 'contact', 'sealed', 'tray', 'air'],
    armedWallMs,
    startedWallMs: null,
    clocks: null,
    chargeSeen: null,
    endedWallMs: null,
    lifecycle: 'armed',
    offConfirmed: false,
    outcome: null,
    ampHours: 0,
    lowAmpHours: 0,
    highAmpHours: 0,
    thicknessMicrometres: 0,
    ...changes,
  });
}

/** Reading number `index` at 4 Hz, all figures different from one another. */
export function aReading(index: number, changes: Partial<ReadingRow> = {}): ReadingRow {
  const atMs = index * 250;
  return {
    atMs,
    wallMs: armedWallMs + atMs,
    volts: 0.8 + (index % 7) / 100,
    amps: 0.42 + (index % 11) / 1000,
    setAmps: 0.425,
    ampHours: index * 2.9e-5,
    thicknessMicrometres: index * 1.4e-3,
    lifecycle: 'holding',
    ...changes,
  };
}

export function readings(count: number, first = 0): ReadingRow[] {
  return Array.from({ length: count }, (_, index) => aReading(first + index));
}

export function anEvent(runId: string | null, changes: Partial<NewEvent> = {}): NewEvent {
  return {
    runId,
    tankId: 'beaker',
    atMs: 1000,
    wallMs: armedWallMs + 1000,
    code: 'overCurrent',
    message: 'Tripped: 0.71 A measured, 0.60 A allowed.',
    ...changes,
  };
}

export function anAlarm(runId: string | null): NewAlarm {
  return {
    runId,
    tankId: 'beaker',
    wallMs: armedWallMs + 1000,
    priority: 'stopped',
    code: 'overCurrent',
    found: '0.71 A measured, 0.60 A allowed',
    cause: 'Something bridges the leads.',
    remedy: 'Look at the leads before you arm again.',
  };
}
