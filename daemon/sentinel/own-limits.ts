/** The sentinel's own limits on a tank, judged from what control reports of each tick; pure. */

import type { RunBounds, TankReport } from '../wire/process.ts';

/** What the settings allow on a tank, as this process has read them for itself. */
export interface HardLimits {
  readonly maxAmps: number;
  readonly maxVolts: number;
  readonly maxHours: number;
}

const msPerHour = 3_600_000;
/** Room for a decimal number that a float only comes near to, and for a supply's last digit. */
const askedSlack = { share: 0.001, least: 0.001 };
/** What is read back or measured is rounded and noisy. */
const readSlack = { share: 0.02, least: 0.02 };
/** Control trips on these by itself, much sooner; this long it has for that, ms. */
const patienceMs = 5_000;
/** Control ends a run at its longest time and largest charge by itself; these come after it. */
const durationSlack = { share: 0.01, least: 60_000 };
const chargeSlack = { share: 0.05, minutesAtMost: 2 };

interface Slack {
  readonly share: number;
  readonly least: number;
}

function above(value: number | null, limit: number, { share, least }: Slack): boolean {
  return value !== null && value > limit + Math.max(least, share * limit);
}

/** Whether control has the output on, or cannot tell that it is off. */
function isLive(report: TankReport): boolean {
  return report.switchedOn && report.output !== 'confirmedOff';
}

export class TankLimits {
  readonly #tankId: string;
  readonly #hard: HardLimits;
  #bounds: RunBounds | null = null;
  #liveMs = 0;
  #ampHours = 0;
  /** The last report of a live output: when it was heard, and what flowed. */
  #last: { readonly atMs: number; readonly amps: number } | null = null;
  #exceededSinceMs: number | null = null;
  /** Set-points are not read back in every tick: these are the last that were. */
  #readAmps: number | null = null;
  #readVolts: number | null = null;

  constructor(tankId: string, hard: HardLimits) {
    this.#tankId = tankId;
    this.#hard = hard;
  }

  /** Takes a run under guard. Throws with the number and its bound when the settings forbid it. */
  admit(bounds: RunBounds): void {
    const { maxAmps, maxVolts, maxHours } = this.#hard;
    this.#refuseAbove(bounds.maxAmps, maxAmps, 'A');
    this.#refuseAbove(bounds.maxVolts, maxVolts, 'V');
    this.#refuseAbove(bounds.maxDurationMs / msPerHour, maxHours, 'h');
    // The largest charge has allowances of its own, for a trickle and for a tiny target.
    const mostAmpHours = maxAmps * (1.5 * maxHours + 0.1);
    this.#refuseAbove(bounds.maxChargeAmpHours, mostAmpHours, 'A·h');
    if (bounds.runId !== this.#bounds?.runId) {
      this.#liveMs = 0;
      this.#ampHours = 0;
      this.#exceededSinceMs = null;
    }
    this.#bounds = bounds;
  }

  /** Its output was read back as off, and its run is over. */
  /** Of the run under guard; null without one. */
  get bounds(): RunBounds | null {
    return this.#bounds;
  }

  release(): void {
    this.#bounds = null;
    this.#last = null;
  }

  /** Looks at a report; answers what oversteps a limit, as a sentence, or null. */
  judge(report: TankReport, nowMs: number): string | null {
    this.#count(report, nowMs);
    const found =
      this.#askedTooMuch(report) ??
      this.#flowsUnguarded(report) ??
      this.#goesOnTooLong(report) ??
      this.#exceedsForLong(report, nowMs);
    return found === null ? null : `Tank ${this.#tankId}: ${found}`;
  }

  #refuseAbove(value: number, most: number, unit: string): void {
    if (value > 0 && !above(value, most, askedSlack)) return;
    throw new Error(
      `the run may take up to ${round(value)} ${unit}, and the settings that Nightbath was ` +
        `started with allow more than 0 and at most ${round(most)} ${unit}`,
    );
  }

  /** Time and charge are counted from one report to the next. */
  #count(report: TankReport, nowMs: number): void {
    if (!isLive(report)) {
      this.#last = null;
      this.#readAmps = null;
      this.#readVolts = null;
      return;
    }
    this.#readAmps = report.readAmps ?? this.#readAmps;
    this.#readVolts = report.readVolts ?? this.#readVolts;
    const amps = Math.abs(report.amps ?? this.#last?.amps ?? 0);
    if (this.#last !== null) {
      const sinceMs = nowMs - this.#last.atMs;
      this.#liveMs += sinceMs;
      this.#ampHours += ((amps + this.#last.amps) / 2) * (sinceMs / msPerHour);
    }
    this.#last = { atMs: nowMs, amps };
  }

  #askedTooMuch({ askedAmps, askedVolts }: TankReport): string | null {
    const { maxAmps, maxVolts } = this.#hard;
    if (above(askedAmps, maxAmps, askedSlack)) {
      return `${round(askedAmps)} A were asked of the supply; the settings allow ${maxAmps} A.`;
    }
    if (above(askedVolts, maxVolts, askedSlack)) {
      return `${round(askedVolts)} V were asked of the supply; the settings allow ${maxVolts} V.`;
    }
    return null;
  }

  #flowsUnguarded(report: TankReport): string | null {
    if (!isLive(report)) return null;
    const guarded = this.#bounds?.runId ?? null;
    if (guarded !== null && report.runId === guarded) return null;
    return `its output was switched on for ${report.runId ?? 'no run'}, and the run under guard is ${guarded ?? 'none'}.`;
  }

  /** A control that is already sending OFF, and waits for the supply to confirm it, is let go on. */
  #goesOnTooLong(report: TankReport): string | null {
    if (report.output !== 'on') return null;
    return this.#lastsTooLong() ?? this.#chargedTooMuch();
  }

  #lastsTooLong(): string | null {
    const most = this.#bounds?.maxDurationMs ?? null;
    if (!above(this.#liveMs, most ?? Infinity, durationSlack)) return null;
    return `its output has been on for ${hours(this.#liveMs)} h; its run may take ${hours(most ?? 0)} h.`;
  }

  #chargedTooMuch(): string | null {
    if (this.#bounds === null) return null;
    const { maxChargeAmpHours: most, maxAmps } = this.#bounds;
    const least = (maxAmps * chargeSlack.minutesAtMost) / 60;
    if (!above(this.#ampHours, most, { share: chargeSlack.share, least })) return null;
    return `${round(this.#ampHours)} A·h have flowed; its run may take ${round(most)} A·h.`;
  }

  /** Control is given its time to trip on these by itself, and to have its OFF read back. */
  #exceedsForLong(report: TankReport, nowMs: number): string | null {
    const found = isLive(report) && report.output === 'on' ? this.#exceeds(report) : null;
    if (found === null) {
      this.#exceededSinceMs = null;
      return null;
    }
    this.#exceededSinceMs ??= nowMs;
    const forMs = nowMs - this.#exceededSinceMs;
    return forMs < patienceMs ? null : `for ${(forMs / 1000).toFixed(1)} s ${found}`;
  }

  #exceeds({ amps }: TankReport): string | null {
    const { maxAmps, maxVolts } = this.#hard;
    const readAmps = this.#readAmps;
    const readVolts = this.#readVolts;
    if (above(amps === null ? null : Math.abs(amps), maxAmps, readSlack)) {
      return `${round(amps)} A have flowed; the settings allow ${maxAmps} A.`;
    }
    if (above(readAmps, maxAmps, readSlack)) {
      return `the supply has stood at ${round(readAmps)} A; the settings allow ${maxAmps} A.`;
    }
    if (above(readVolts, maxVolts, readSlack)) {
      return `the supply has stood at ${round(readVolts)} V; the settings allow ${maxVolts} V.`;
    }
    return null;
  }
}

function hours(durationMs: number): string {
  return (durationMs / msPerHour).toFixed(2);
}

function round(value: number | null): string {
  return value === null ? '?' : String(Number(value.toPrecision(4)));
}
