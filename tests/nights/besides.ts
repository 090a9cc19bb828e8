/**
 * What a night may contain beside its run and its faults: changes of the run under way, and probes
 * before it. Each is drawn from a stream of its own, so that all else of a seed stays as it is.
 */

import type { ProbeKind } from '../../daemon/run/probe-model.ts';
import type { SensorAction } from '../../daemon/run/sensors.ts';
import { createRandomStream } from '../../drivers/simulated/random.ts';

/** A change that the person asks for while the run is under way. */
export interface WantedChange {
  /** After so much time with the output on, ms. */
  readonly afterMs: number;
  /** What is asked for: a density, or a target in one of its words. `slip` is a density in a wrong unit. */
  readonly what: 'density' | 'charge' | 'hours' | 'micrometres' | 'slip';
  /** Of what stands at that time. */
  readonly factor: number;
  /** Presses first without having seen what it comes to. */
  readonly hasty: boolean;
  /** Waits for a lift, where there is one to come. */
  readonly whileLifted: boolean;
}

/** A probe before the first run. */
export interface WantedProbe {
  readonly kind: ProbeKind;
  /** Where a steady current lies between its bounds, 0 to 1. */
  readonly share: number;
  /** Ends it by hand after so much time with the output on, ms; null lets it end. */
  readonly stopAfterMs: number | null;
}

/** How the sensor's line does: `gone` is unplugged, `warm` is a bath that is beyond its limit. */
export type SensorTrouble = 'none' | 'silent' | 'nonsense' | 'gone' | 'warm';

/** A thermometer beside the supply, with a limit above. */
export interface WantedSensor {
  readonly trouble: SensorTrouble;
  /** After the first ON, ms. */
  readonly afterMs: number;
  readonly lastsMs: number;
  readonly staleAfterSeconds: number;
  readonly high: SensorAction;
  readonly missing: SensorAction;
}

export interface Besides {
  readonly changes: readonly WantedChange[];
  readonly probes: readonly WantedProbe[];
  readonly sensor: WantedSensor | null;
}

export const nothingBesides: Besides = { changes: [], probes: [], sensor: null };

/** What happened of it in a night, by the names that a campaign counts. */
export type Act =
  | 'densityRaised'
  | 'densityLowered'
  | 'targetRaised'
  | 'targetLowered'
  | 'changedWhileLifted'
  | 'changeRefused'
  | 'circuitProbed'
  | 'drillPassed'
  | 'steadyCurrent'
  | 'probeStopped'
  | 'probeTripped'
  | 'sensorWell'
  | 'sensorSilent'
  | 'sensorNonsense'
  | 'sensorGone'
  | 'bathWarm';

const changingShare = 0.25;
const probingShare = 0.2;
const sensingShare = 0.15;
const troubles: readonly SensorTrouble[] = ['none', 'silent', 'nonsense', 'gone', 'warm', 'warm'];
const changes: readonly WantedChange['what'][] = [
  'density',
  'density',
  'charge',
  'charge',
  'hours',
  'micrometres',
  'slip',
];
const probes: readonly ProbeKind[] = ['continuity', 'continuity', 'drill', 'drill', 'meter'];

function changesOf(seed: number, wantedMs: number): readonly WantedChange[] {
  const random = createRandomStream(seed, 'changes');
  if (random.uniform() >= changingShare) return [];
  const count = 1 + random.whole(2);
  return Array.from({ length: count }, () => ({
    afterMs: wantedMs * (0.02 + 0.8 * random.uniform()),
    what: changes[random.whole(changes.length)] ?? 'density',
    factor: 0.7 + 0.55 * random.uniform(),
    hasty: random.uniform() < 0.3,
    whileLifted: random.uniform() < 0.4,
  })).toSorted((one, other) => one.afterMs - other.afterMs);
}

function probesOf(seed: number): readonly WantedProbe[] {
  const random = createRandomStream(seed, 'probes');
  if (random.uniform() >= probingShare) return [];
  const count = 1 + random.whole(2);
  return Array.from({ length: count }, () => {
    const kind = probes[random.whole(probes.length)] ?? 'continuity';
    const longMs = kind === 'meter' ? 120_000 : 3_000;
    return {
      kind,
      share: random.uniform(),
      stopAfterMs: random.uniform() < 0.25 ? longMs * random.uniform() : null,
    };
  });
}

/** In a night without a fault it calls, and stops nothing. */
function sensorOf(seed: number, wantedMs: number, faultless: boolean): WantedSensor | null {
  const random = createRandomStream(seed, 'sensor');
  if (random.uniform() >= sensingShare) return null;
  const action = (): SensorAction => (random.uniform() < 0.5 || faultless ? 'alarm' : 'trip');
  return {
    trouble: troubles[random.whole(troubles.length)] ?? 'none',
    afterMs: wantedMs * 0.8 * random.uniform(),
    lastsMs: 20_000 + 100_000 * random.uniform(),
    staleAfterSeconds: 5 + random.whole(11),
    high: action(),
    missing: action(),
  };
}

/** What the night of a seed contains beside all else; `wantedMs` is how long its run is to take. */
export function besidesOf(seed: number, wantedMs: number, faultless: boolean): Besides {
  return {
    changes: changesOf(seed, wantedMs),
    probes: probesOf(seed),
    sensor: sensorOf(seed, wantedMs, faultless),
  };
}
