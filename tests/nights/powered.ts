/** What a run that is on may not bear, judged by the truth of supply, line, disk and computer. */

import type { ActiveRun } from '../../daemon/control/snapshot.ts';
import { settlingMs } from '../../daemon/run/watch/rule.ts';
import type { Glance } from '../../drivers/simulated/model.ts';
import type { Effect, FaultKind } from './faults/kind.ts';

/** A fault that has begun, and when it ended. */
export interface Fired {
  readonly kind: FaultKind;
  readonly beganMs: number;
  endedMs: number | null;
}

/** Something that is so just now, and for how long it may be. */
export interface Condition {
  readonly invariant: string;
  readonly what: string;
  readonly holds: boolean;
  readonly forMs: number;
}

export interface Look {
  readonly nowMs: number;
  readonly run: ActiveRun;
  readonly truth: Glance;
  readonly fired: readonly Fired[];
  readonly affected: (effect: Effect, graceMs?: number) => boolean;
  /** How much later things may be noticed on a slow supply. */
  readonly scale: number;
  readonly stepAmps: number;
  readonly stepVolts: number;
  readonly tellsRestarts: boolean;
  readonly sentinelSilentMs: number;
  readonly asleepUntilMs: number;
  readonly lastSleepMs: number;
  /** Since when this control process is there. */
  readonly controlSinceMs: number;
  /** When the run's output came on, in the world's time. */
  readonly onSinceMs: number;
  /** The set-point at which the meter came to stand still; null while it does not. */
  readonly stuckAtAmps: number | null;
  /** Time with the output truly on in this run, ms. */
  readonly poweredMs: number;
  /** The largest set-point that a reading may still show: one that was just replaced counts, A. */
  readonly mostSetAmps: number;
}

const mute: ReadonlySet<string> = new Set(['mute', 'unplugged', 'endlessLine', 'cutReply']);
const silent: ReadonlySet<string> = new Set([...mute, 'noReading']);
const refusing: ReadonlySet<string> = new Set(['diskFull', 'diskBusy', 'diskError']);

function underWay(look: Look, names: ReadonlySet<string>): boolean {
  return look.fired.some(({ kind, endedMs }) => endedMs === null && names.has(kind.name));
}

function lasted(look: Look, name: string): number {
  const one = look.fired.find(({ kind, endedMs }) => endedMs === null && kind.name === name);
  return one === undefined ? 0 : look.nowMs - one.beganMs;
}

/** What is measured shows the truth, and arrives. */
function honest({ affected }: Look): boolean {
  return !affected('meter') && !affected('line');
}

/** The supply has started anew just now and may not answer yet; its longest start takes 3 s. */
function boots({ fired, nowMs }: Look): boolean {
  return fired.some(({ kind, beganMs }) => kind.name === 'restart' && nowMs - beganMs < 3_100);
}

type Judge = (what: string, holds: boolean, holdMs: number) => Condition;

/** The bath and the supply's output. */
function currents(look: Look, judge: Judge): readonly Condition[] {
  const { run, truth, stepAmps, stepVolts } = look;
  const { limits } = run.state.plan;
  // Just after ON nothing is settled that could be held against the set-point.
  const settled = look.nowMs - look.onSinceMs > settlingMs * look.scale;
  // An open or a shorted circuit is what a probe is asked about, and its answer.
  const asked = run.state.probe === null && settled;
  const on = run.state.output === 'on' && truth.outputOn && honest(look);
  const setAmps = run.state.confirmedAmps;
  const { programming, lifecycle } = run.state;
  const above = truth.amps > 1.01 * limits.maxAmps + 2 * stepAmps;
  const high = truth.volts > 1.01 * limits.maxVolts + 2 * stepVolts;
  const far = !programming && truth.amps > 1.15 * look.mostSetAmps + 8 * stepAmps + 0.02;
  const open =
    truth.amps < 0.03 * setAmps && setAmps > 6 * stepAmps && truth.volts > 0.95 * limits.setVolts;
  const shorted =
    truth.volts < 0.8 * (0.008 + 0.02 * truth.amps) - 2 * stepVolts &&
    truth.amps > 0.6 * setAmps &&
    truth.amps > 6 * stepAmps;
  const below = lifecycle !== 'striking' && truth.amps < 0.88 * setAmps - 6 * stepAmps;
  return [
    judge('the current is above its limit', on && above, 0),
    judge('the voltage is above its limit', on && high, 0),
    judge('the current is far above its set-point', on && settled && far, 1_000),
    judge('the circuit is open', on && asked && open, 1_500),
    judge('the circuit is shorted', on && asked && shorted, 1_500),
    judge('the current stays below its set-point', on && settled && below, 20_000),
    judge(
      'the output is off in a run that is on',
      run.state.output === 'on' && !truth.outputOn && honest(look) && !boots(look),
      1_000,
    ),
  ];
}

/** The supply beside its output: its set-points, its restarts, its meters, who it is. */
function supply(look: Look, judge: Judge): readonly Condition[] {
  const { run, truth, stepAmps, stepVolts, fired, nowMs } = look;
  const { confirmedAmps, commandedAmps, programming, plan } = run.state;
  const { setVolts } = plan.limits;
  const least = Math.min(confirmedAmps, commandedAmps) - 2.5 * stepAmps;
  const most = Math.max(confirmedAmps, commandedAmps) + 2.5 * stepAmps;
  const otherAmps = truth.setAmps < least || truth.setAmps > most;
  const otherVolts = Math.abs(truth.setVolts - setVolts) > 2.5 * stepVolts;
  const on = run.state.output === 'on' && honest(look);
  const restarted = fired.some(
    ({ kind, beganMs }) =>
      kind.name === 'restart' && beganMs > look.onSinceMs && nowMs - beganMs < 600_000,
  );
  const { stuckAtAmps } = look;
  const moved =
    stuckAtAmps !== null &&
    Math.abs(truth.setAmps - stuckAtAmps) > Math.max(0.05 * truth.setAmps, 8 * stepAmps);
  // What a meter has not shown in an earlier run is nothing to this one.
  const dead = Math.min(lasted(look, 'deadMeter'), nowMs - look.onSinceMs);
  const other = lasted(look, 'otherDevice');
  const { overVoltageVolts, overCurrentAmps } = plan.limits;
  const unheld =
    (overVoltageVolts !== null && (truth.tripVolts ?? Infinity) > overVoltageVolts + stepVolts) ||
    (overCurrentAmps !== null && (truth.tripAmps ?? Infinity) > overCurrentAmps + stepAmps);
  return [
    judge(
      'the set-points are not the ones that were given',
      on && !programming && (otherAmps || otherVolts),
      3_500 * look.scale,
    ),
    judge(
      'the supply has restarted and the run goes on',
      on && restarted && look.tellsRestarts,
      5_000 * look.scale,
    ),
    judge(
      'the meter stands still while the set-point moves',
      moved && !look.affected('line'),
      14_000,
    ),
    judge('a meter shows nothing for minutes', dead > 130_000, 10_000),
    judge('the supply does not hold the limits by itself', on && truth.outputOn && unheld, 0),
    judge('another supply is driven', other > 8_000, 6_000 * look.scale),
  ];
}

/** Line, disk, sentinel and computer. */
function surroundings(look: Look, judge: Judge): readonly Condition[] {
  const { run, nowMs } = look;
  // The goal, and seven cycles of a slow supply; not what control holds itself to.
  const silenceMs = Math.max(2_000, 1_750 * look.scale);
  // A meter that is dead or stuck gives its number in place of one that cannot be read.
  const answers = underWay(look, new Set(['deadMeter', 'stuckMeter']));
  const swallowed = look.truth.outputOn && underWay(look, answers ? mute : silent);
  const isMute = underWay(look, mute);
  const isOn = run.state.output === 'on';
  const refused = underWay(look, refusing);
  // What flows through a shorter one is within the error of two readings.
  const slept =
    look.lastSleepMs > 700 && look.asleepUntilMs > look.onSinceMs && nowMs - look.asleepUntilMs > 0;
  return [
    {
      ...judge('the supply has not answered', swallowed && (isMute || isOn), 0),
      forMs: silenceMs + 500 * look.scale,
    },
    {
      // A supply that confirms ON has answered, though it cannot be read.
      ...judge('the supply cannot be read since ON', swallowed, 0),
      forMs: silenceMs + 500 * look.scale + Math.max(4_000, 2_000 * look.scale),
    },
    { ...judge('nothing can be written', refused, 8_000), invariant: 'I13' },
    judge('nobody watches control', look.sentinelSilentMs > 0, 6_500),
    judge('the computer slept and the run goes on', slept, 1_000),
    {
      invariant: 'I6',
      what: 'the run is longer than its limit',
      holds: look.poweredMs > run.state.plan.limits.maxDurationMs + 20_000,
      forMs: 5_000,
    },
  ];
}

/** Everything that would be a broken promise if it stood for too long. */
export function poweredConditions(look: Look): readonly Condition[] {
  const judge: Judge = (what, holds, holdMs) => ({
    invariant: 'I3',
    what,
    holds,
    // What has to stand for a while is timed by readings, from one to one: a cycle more at either end.
    forMs: holdMs + 500 + (holdMs === 0 ? 1_000 : 1_500) * look.scale,
  });
  return [...currents(look, judge), ...supply(look, judge), ...surroundings(look, judge)];
}
