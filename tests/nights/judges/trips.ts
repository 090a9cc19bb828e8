/** I17: no trip without a cause; and whether one stands that nobody has acknowledged. */

import { faultCodes } from '../../../daemon/run/model.ts';
import type { Tank } from '../../../daemon/control/tank.ts';
import type { Alarm } from '../../../daemon/wire/run.ts';
import { holdsBack } from '../board.ts';
import type { Evidence } from './evidence.ts';

/** Faults that spoil a single reply. */
const oneReply: ReadonlySet<string> = new Set([
  'replyLost',
  'replyTurned',
  'replyShort',
  'replyTwice',
  'replyMisread',
  'replyHeld',
]);

/** Faults that a run reports because of another that is long over. */
const slowFindings: ReadonlySet<string> = new Set([
  'tooLong',
  'tooMuchCharge',
  'paintNotCovering',
  'noCharge',
  'programRefused',
]);
const sensorFindings: ReadonlySet<string> = new Set(['bathTooWarm', 'sensorMissing']);
/** Any other trip later than this after the last grave fault has no cause, ms. */
const aftermathMs = 30_000;

/** Counts the trips of a night and holds each against its faults. */
export class Trips {
  readonly codes = new Set<string>();
  count = 0;
  falseOnes = 0;
  readonly #evidence: Evidence;
  #standsSinceMs: number | null = null;

  constructor(evidence: Evidence) {
    this.#evidence = evidence;
  }

  get stands(): boolean {
    return this.#standsSinceMs !== null;
  }

  get unknown(): readonly string[] {
    return [...this.codes].filter((code) => !faultCodes.some((known) => known === code));
  }

  acknowledged(alarm: Alarm, tank: Tank | null): void {
    if (holdsBack(alarm) && tank?.alarms.standing.every((one) => !holdsBack(one)) === true) {
      this.#standsSinceMs = null;
    }
  }

  /** A trip that the disk had refused to keep is known to nobody any more. */
  isForgotten(): void {
    this.#standsSinceMs = null;
  }

  onTrip(code: string): void {
    const { parts, record, faults } = this.#evidence;
    const { host } = parts;
    this.count += 1;
    this.codes.add(code);
    record.note('trip', code);
    this.#standsSinceMs = host.nowMs;
    const { grave } = faults;
    const late = grave.some(({ kind }) => kind.effects.includes('disk') && code === 'databaseLost');
    // Whether a sensor had cause is judged by its line.
    if (parts.sensor !== null && sensorFindings.has(code)) return;
    if (
      this.#graveJustNow ||
      this.#spoiledTwice ||
      late ||
      (grave.length > 0 && slowFindings.has(code))
    )
      return;
    // A tank that allows hardly more time than the plan takes leaves none for a paint that covers late.
    if (code === 'tooLong' && parts.tight) return;
    this.falseOnes += 1;
    const found = parts.control()?.tank?.run?.state.outcome?.reason ?? '';
    record.violated('I17', `A trip for ${code} without a cause: ${found}`);
  }

  /** A grave fault is on, or was a moment ago; what it brought the computer to counts as long as it lasts. */
  get #graveJustNow(): boolean {
    const { parts, faults } = this.#evidence;
    const { nowMs, asleepUntilMs, disturbedUntilMs } = parts.host;
    const overMs = Math.max(asleepUntilMs, disturbedUntilMs);
    return faults.grave.some(
      ({ endedMs }) => endedMs === null || nowMs - Math.max(endedMs, overMs) < aftermathMs,
    );
  }

  /** One bad reply is borne; two of them where a question and its repeat fall are more than was promised. */
  get #spoiledTwice(): boolean {
    const { nowMs, faults, scale } = this.#evidence;
    const lately = faults.all.filter(
      ({ kind, beganMs }) => oneReply.has(kind.name) && nowMs - beganMs < 1_000 * scale,
    );
    return lately.some(({ beganMs }, index) => {
      const next = lately[index + 1];
      return next !== undefined && next.beganMs - beganMs < 200 * scale;
    });
  }

  /** The sentinel ends control: only where something gave it cause. */
  condemned(found: string): void {
    const { record } = this.#evidence;
    record.note('sentinel', found);
    if (this.#graveJustNow) return;
    this.falseOnes += 1;
    record.violated('I17', `The sentinel ended control without a cause: ${found}`);
  }
}
