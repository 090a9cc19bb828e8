/** The sensors of one tank: heard all the time, judged while current is wanted, recorded with the run. */

import type { DriverClock } from '../../drivers/contract.ts';
import { Sensor } from '../../drivers/registry.ts';
import { faultOf } from '../run/faults.ts';
import { freshSensor, judgeSensor, type SensorMemory, type SensorRule } from '../run/sensors.ts';
import type { SensorFinding } from '../run/sensors.ts';
import { isPowered } from '../run/state.ts';
import type { SensorSettings } from '../settings/model.ts';
import type { LiveSensor } from '../wire/sensors.ts';
import { realClock } from './clock.ts';
import type { Tank } from './tank.ts';

/** What a bath can be; outside of it lie the codes that sensors send when they are torn off. */
const ranges = {
  temperature: { least: -20, most: 150 },
  level: { least: -100_000, most: 100_000 },
} as const;
/** A value of each sensor is written to the log this often, ms. */
const recordEveryMs = 5_000;

/** The part of a sensor that the desk uses. */
export type Heard = Pick<Sensor, 'latest' | 'trouble' | 'start' | 'close'>;

/** How the desk comes to a sensor. */
export type OpenSensor = (settings: SensorSettings) => Heard;
type SensorConnect = NonNullable<ConstructorParameters<typeof Sensor>[2]>;

interface Watched {
  readonly rule: SensorRule;
  readonly sensor: Heard;
  memory: SensorMemory;
  recordedMs: number;
}

export class SensorDesk {
  readonly #watched: Watched[];
  readonly #clock: DriverClock;
  #watching = false;

  /** Nothing is opened yet. Sensors live in real time, also beside a hurried simulated supply. */
  constructor(
    settings: readonly SensorSettings[],
    make: OpenSensor = (one) => openSensor(one),
    clock: DriverClock = realClock,
  ) {
    this.#clock = clock;
    this.#watched = settings.map((one) => ({
      rule: ruleOf(one),
      sensor: make(one),
      memory: freshSensor(clock.nowMs()),
      recordedMs: -Infinity,
    }));
  }

  async close(): Promise<void> {
    await Promise.all(this.#watched.map(({ sensor }) => sensor.close()));
  }

  /** At every turn of the tank's loop; with the first the listening begins. */
  judge(tank: Tank): void {
    for (const { sensor } of this.#watched) sensor.start();
    const { run } = tank;
    const watching = run !== null && run.record.kind === 'run' && isPowered(run.state.lifecycle);
    const nowMs = this.#clock.nowMs();
    for (const watched of this.#watched) {
      // Each run is watched anew: what was told of in the last one is told again.
      if (watching && !this.#watching) watched.memory = freshSensor(nowMs);
      const { memory, finding } = judgeSensor(
        watched.memory,
        watched.rule,
        watched.sensor.latest,
        nowMs,
      );
      watched.memory = memory;
      if (!watching) continue;
      if (finding !== null) tell(tank, finding, watched.sensor.trouble);
      this.#record(tank, watched, nowMs);
    }
    this.#watching = watching;
  }

  picture(): LiveSensor[] {
    const nowMs = this.#clock.nowMs();
    return this.#watched.map(({ rule, sensor, memory }) => {
      const { latest } = sensor;
      const fresh = latest !== null && nowMs - latest.atMs <= rule.staleAfterMs;
      return {
        id: rule.id,
        name: rule.name,
        kind: rule.kind,
        unit: rule.unit,
        value: fresh ? latest.value : null,
        state: memory.state,
        message: fresh ? '' : sensor.trouble || 'It has fallen silent.',
        low: rule.low?.value ?? null,
        high: rule.high?.value ?? null,
      };
    });
  }

  #record(tank: Tank, watched: Watched, nowMs: number): void {
    const { sensor, rule } = watched;
    const startedAtMs = tank.run?.startedAtMs ?? null;
    if (sensor.latest === null || startedAtMs === null) return;
    if (sensor.latest.atMs <= watched.recordedMs || nowMs - watched.recordedMs < recordEveryMs) {
      return;
    }
    watched.recordedMs = nowMs;
    const { id, name, kind, unit } = rule;
    const atMs = tank.clock.nowMs() - startedAtMs;
    if (tank.run === null) return;
    tank.journal.recordSensor(tank.run, { id, name, kind, unit, atMs, value: sensor.latest.value });
  }
}

function ruleOf(settings: SensorSettings): SensorRule {
  const { id, name, kind, unit, low, high, hysteresis, missing } = settings;
  const staleAfterMs = settings.staleAfterSeconds * 1000;
  return { id, name, kind, unit, low, high, hysteresis, missing, staleAfterMs };
}

/** A sensor as its settings have it, over its own line or over one that is given. */
export function openSensor(
  { kind, link, scale, offset, staleAfterSeconds }: SensorSettings,
  connect: SensorConnect | null = null,
): Sensor {
  const silenceMs = Math.max(5_000, staleAfterSeconds * 1000);
  return new Sensor({ link, scale, offset, ...ranges[kind], silenceMs }, realClock, connect);
}

/** A person is called either way; the output goes off only where the maker wants that. */
function tell(tank: Tank, { code, action, found, subject }: SensorFinding, trouble: string): void {
  const atMs = tank.clock.nowMs();
  const said = code === 'sensorMissing' && trouble !== '' ? `${found} ${trouble}` : found;
  if (action === 'trip') tank.feed({ kind: 'fault', atMs, code, found: said });
  else tank.journal.alarm(tank.run, faultOf(code, atMs, said), 'act-soon', subject);
}
