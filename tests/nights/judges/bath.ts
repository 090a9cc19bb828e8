/** I3 and I17: what a sensor of the bath finds is acted on in time, and it finds nothing where nothing is. */

import type { Tank } from '../../../daemon/control/tank.ts';
import { isPowered } from '../../../daemon/run/state.ts';
import type { Act, SensorTrouble } from '../besides.ts';
import type { Evidence } from './evidence.ts';
import type { Telling } from './telling.ts';

/** Ten seconds beyond a limit are a finding; the samples that they are counted from come each second, ms. */
const warmWithinMs = 15_000;
/** Beside the bound of silence: a sample that was due, and a line that is opened anew, ms. */
const missedWithinMs = 4_000;
/** What was wrong may still be found for so long after it, ms. */
const aftermathMs = 30_000;
/** A code came up at this look, ms. */
const justNowMs = 300;

const codes = ['bathTooWarm', 'sensorMissing'] as const;
const acts: Readonly<Record<SensorTrouble, Act>> = {
  none: 'sensorWell',
  silent: 'sensorSilent',
  nonsense: 'sensorNonsense',
  gone: 'sensorGone',
  warm: 'bathWarm',
};

/** Judges the sensor beside the run, by what its line really says. */
export class Bath {
  readonly #evidence: Evidence;
  readonly #telling: Telling;
  readonly #did: (act: Act) => void;
  #trouble: SensorTrouble = 'none';
  #sinceMs = 0;
  #notWatchedMs = 0;

  constructor(evidence: Evidence, telling: Telling, did: (act: Act) => void) {
    this.#evidence = evidence;
    this.#telling = telling;
    this.#did = did;
  }

  judge(tank: Tank): void {
    const { parts, nowMs, undisturbedSinceMs } = this.#evidence;
    const { sensor } = parts;
    if (sensor === null) return;
    const { trouble } = sensor.line;
    if (trouble !== this.#trouble) {
      this.#trouble = trouble;
      this.#sinceMs = nowMs;
    }
    const { run } = tank;
    const watched = run !== null && run.record.kind === 'run' && isPowered(run.state.lifecycle);
    if (!watched) this.#notWatchedMs = nowMs;
    if (watched) this.#did(acts[trouble]);
    if (undisturbedSinceMs === null) return;
    const fromMs = Math.max(this.#sinceMs, undisturbedSinceMs);
    if (trouble === 'none') this.#judgeQuiet(fromMs);
    else if (watched) this.#judgeActed(tank, Math.max(fromMs, this.#notWatchedMs));
  }

  #judgeActed(tank: Tank, fromMs: number): void {
    const { parts, record, nowMs, scale } = this.#evidence;
    const wanted = parts.sensor?.wanted;
    if (wanted === undefined) return;
    const warm = this.#trouble === 'warm';
    const code = warm ? 'bathTooWarm' : 'sensorMissing';
    const boundMs = warm ? warmWithinMs : wanted.staleAfterSeconds * 1_000 + missedWithinMs;
    if (nowMs - fromMs <= boundMs + 1_000 * scale) return;
    if ((warm ? wanted.high : wanted.missing) === 'trip') {
      record.violated('I3', `${code} was to stop the run, and it goes on.`);
      return;
    }
    const stands = tank.alarms.standing.some(
      (alarm) => alarm.code === code && alarm.clearedWallMs === null,
    );
    if (stands || this.#telling.called(code, fromMs - justNowMs)) return;
    record.violated('I3', `${code}, and nobody was called.`);
  }

  #judgeQuiet(fromMs: number): void {
    const { nowMs, record, parts } = this.#evidence;
    const staleMs = 1_000 * (parts.sensor?.wanted.staleAfterSeconds ?? 0);
    if (nowMs - fromMs < aftermathMs + staleMs) return;
    const found = codes.find((code) => this.#telling.called(code, nowMs - justNowMs));
    if (found !== undefined) record.violated('I17', `${found} was told while the sensor is well.`);
  }
}
