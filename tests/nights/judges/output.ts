/** I1, I3 to I6: to whom ON is sent, that OFF is sent where it is owed, and what control believes of both. */

import type { Tank } from '../../../daemon/control/tank.ts';
import type { OutputBelief } from '../../../daemon/run/model.ts';
import { isFinal, isPowered } from '../../../daemon/run/state.ts';
import type { Glance } from '../../../drivers/simulated/model.ts';
import type { Course } from './course.ts';
import type { Evidence } from './evidence.ts';
import type { Telling } from './telling.ts';
import type { Trips } from './trips.ts';

/** An OFF that is not confirmed by then has somebody called, ms. */
const callWithinMs = 4_000;

interface Others {
  readonly course: Course;
  readonly telling: Telling;
  readonly trips: Trips;
}

/** Judges ON, OFF and the output between them. */
export class Output {
  /** The output was last switched on by a command, and not at the panel. */
  switchedOnByRun = false;
  readonly #evidence: Evidence;
  readonly #course: Course;
  readonly #telling: Telling;
  readonly #trips: Trips;
  #believed: OutputBelief | null = null;
  #lastOffReceivedMs = -Infinity;
  #beliefSinceMs = 0;

  constructor(evidence: Evidence, { course, telling, trips }: Others) {
    this.#evidence = evidence;
    this.#course = course;
    this.#telling = telling;
    this.#trips = trips;
  }

  /** I5: at the moment at which ON leaves control there is a run that wants it. */
  onWritten(): void {
    const { parts, record } = this.#evidence;
    const run = parts.control()?.tank?.run ?? null;
    if (run === null || isPowered(run.state.lifecycle)) return;
    record.violated('I5', `ON was written while the run is ${run.state.lifecycle}.`);
  }

  onReceived(): void {
    const { parts, record, faults } = this.#evidence;
    const { disk, control } = parts;
    const run = control()?.tank?.run ?? null;
    if (run !== null) this.#telling.runIsOn(run.record.id);
    if (run === null) {
      record.violated('I1', 'ON reached the supply, and control has no run.');
      return;
    }
    const stored = disk.file.runs.get(run.record.id);
    const gone = faults.everAffected('disk');
    if (stored === undefined && !gone) {
      record.violated('I1', `ON reached the supply before run ${run.record.id} was on disk.`);
    } else if (stored !== undefined && isFinal(stored.lifecycle) && this.#course.stoodMs > 500) {
      // Bytes of an ON that were on a slow line when the run was ended are followed by those of OFF.
      record.violated(
        'I1',
        `ON reached the supply for a run that is on disk as ${stored.lifecycle}.`,
      );
    }
    if (!parts.sentinel.guards) {
      record.violated('I1', 'ON reached the supply, and nobody holds the way to OFF.');
    }
    // ON may be on its way on a slow line while the run is being ended.
    if (!isPowered(run.state.lifecycle) && this.#course.stoodMs > 500) {
      record.violated('I5', `ON reached the supply while the run is ${run.state.lifecycle}.`);
    }
    if (this.#trips.stands && this.#course.stoodMs > 500) {
      record.violated('I5', 'ON reached the supply after a trip that nobody acknowledged.');
    }
  }

  offReceived(): void {
    this.#lastOffReceivedMs = this.#evidence.nowMs;
  }

  runCame(): void {
    this.#believed = null;
  }

  /** I4: the moment at which control comes to believe in OFF. */
  lookAtBelief(output: OutputBelief): void {
    if (output === this.#believed) return;
    this.#believed = output;
    if (output !== 'confirmedOff') return;
    const { parts, record, faults, nowMs, scale } = this.#evidence;
    const truth = this.#evidence.glance();
    const lied = faults.affected('hidden') || faults.affected('meter') || faults.affected('charge');
    // A key that was pressed since the last reading is found with the next one.
    const pressed = faults.all.some(
      ({ kind, beganMs }) =>
        (kind.name === 'usedByHand' || kind.name === 'outputKey') &&
        nowMs - beganMs < 1_000 * scale,
    );
    if (truth.outputOn && truth.amps > 2 * parts.offAmps && !lied && !pressed) {
      record.violated('I4', `OFF was taken as confirmed while ${truth.amps.toFixed(3)} A flow.`);
    }
  }

  /** I4: what control believes of the output. */
  judgeBelief(tank: Tank, truth: Glance): void {
    const { parts, faults, scale, controlSinceMs } = this.#evidence;
    const { offAmps, stepAmps, host } = parts;
    const flowing = truth.outputOn && truth.amps > offAmps + 2 * stepAmps;
    const believed = tank.output === 'confirmedOff';
    const hidden = faults.affected('hidden') || faults.affected('meter');
    // The supply may have been switched on at its panel: then the next readings tell.
    const lineDead = faults.affected('line', 20_000);
    this.#evidence.stands(
      'I4',
      'the output is believed off while current flows',
      flowing && believed && !hidden && !lineDead,
      2_500 * scale,
    );
    // What a former process switched on is owed its OFF by the present one.
    const over = tank.run === null ? this.switchedOnByRun : isFinal(tank.run.state.lifecycle);
    const owed = over && truth.outputOn;
    this.#evidence.stands(
      'I4',
      'an output that is still on is sent no OFF',
      owed &&
        !hidden &&
        !lineDead &&
        host.nowMs - Math.max(this.#lastOffReceivedMs, this.#course.sinceMs) > 2_000 * scale,
      6_000 * scale,
    );
    const run = tank.run;
    const waiting =
      run !== null &&
      run.state.output !== 'confirmedOff' &&
      (isFinal(run.state.lifecycle) || run.state.lifecycle === 'lifted');
    if (!waiting) this.#beliefSinceMs = host.nowMs;
    // What the computer sleeps or stalls through is no time in which it could have called anybody.
    const undisturbedMs = Math.max(host.disturbedUntilMs, host.asleepUntilMs, controlSinceMs);
    const waitedMs = host.nowMs - Math.max(this.#beliefSinceMs, undisturbedMs);
    const slowerMs = 2 * Math.max(0, parts.cycleMs - 250);
    // One that stands from before goes on calling.
    const told =
      this.#telling.called('offUnconfirmed', this.#beliefSinceMs - 100) ||
      tank.alarms.standing.some(
        ({ code, clearedWallMs }) => code === 'offUnconfirmed' && clearedWallMs === null,
      );
    this.#evidence.stands(
      'I3',
      'OFF is not confirmed and nobody was called',
      waiting && waitedMs > callWithinMs + slowerMs && !told,
      0,
    );
  }

  /** I6: what flows while no run is on. */
  judgeUnwanted(tank: Tank, truth: Glance): void {
    const { parts, faults, controlSinceMs, scale } = this.#evidence;
    const run = tank.run;
    const free =
      faults.affected('off') || faults.affected('line', 20_000) || faults.affected('meter');
    const wanted = run !== null && isPowered(run.state.lifecycle);
    // Whoever has acknowledged it has been told; a fresh log has forgotten the run itself.
    const told =
      tank.alarms.standing.length > 0 || this.#telling.called('outputFoundOn', controlSinceMs);
    this.#evidence.stands(
      'I6',
      'current flows that no run wants, and nobody was told',
      truth.outputOn && truth.amps > parts.offAmps * 2 && !wanted && !free && !told,
      6_000 * scale,
    );
  }
}
