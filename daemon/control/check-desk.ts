/** Gathers what the checks before a start have to know of a tank, and judges them as things are now. */

import { isOpen, unattendedPhrase, whatSoftwareCannot } from '../run/checks/start.ts';
import type { Check, CheckFacts, SetPointFacts } from '../run/checks/model.ts';
import { judgeChecks } from '../run/checks/table.ts';
import { isFinal } from '../run/state.ts';
import type { AlertReadiness } from '../wire/alerts.ts';
import type { Reaction, TankChecks } from '../wire/checks.ts';
import type { ClockWatch } from './clock-watch.ts';
import type { LogHealth } from './log-health.ts';
import { neededMegabytes } from './log-room.ts';
import { supplyOf, type ProbeBook } from './probe-book.ts';
import type { Tank } from './tank.ts';
import { reactionOf } from './timing.ts';

export interface CheckNeeds {
  readonly health: LogHealth;
  readonly book: ProbeBook;
  /** Free room for the log, MB; null where the system does not tell. */
  readonly freeMegabytes: () => Promise<number | null>;
  /** Left out where no alerts are set up. */
  readonly alertReadiness?: () => AlertReadiness;
  readonly clockWatch?: ClockWatch;
}

export class CheckDesk {
  readonly #needs: CheckNeeds;

  constructor(needs: CheckNeeds) {
    this.#needs = needs;
  }

  /** Every check of this tank now. */
  async judge(tank: Tank): Promise<readonly Check[]> {
    return judgeChecks(await this.#facts(tank));
  }

  async answer(tank: Tank): Promise<TankChecks> {
    const checks = await this.judge(tank);
    const alerts = checks.find(({ id }) => id === 'alerts');
    return {
      tankId: tank.id,
      wallMs: tank.clock.wallMs(),
      checks: checks.map((check) => ({ ...check })),
      caution: tank.simulated ? null : whatSoftwareCannot,
      phrase: alerts !== undefined && isOpen(alerts) ? unattendedPhrase : null,
      reaction: reactionFor(tank),
    };
  }

  async #facts(tank: Tank): Promise<CheckFacts> {
    const { health, book, freeMegabytes, alertReadiness, clockWatch } = this.#needs;
    const wallMs = tank.clock.wallMs();
    book.retry(performance.now());
    const [failure, free] = await Promise.all([health.failure(tank.id, wallMs), freeMegabytes()]);
    const { link, capabilities } = tank;
    return {
      simulated: tank.simulated,
      wallMs,
      link: {
        state: link.connected ? 'connected' : link.state === 'connected' ? 'lost' : link.state,
        message: link.message,
        identityExpected: tank.settings.rectifier.expectIdentity !== null,
      },
      standingErrors: capabilities.errorQueue ? link.standingErrors : null,
      output: tank.output,
      measuredAmps: measuredOf(tank),
      offAmps: capabilities.offAmps,
      setPoints: setPointsOf(tank),
      continuity: book.continuity(tank.id, tank.facts.supply.stepVolts),
      log: {
        failure,
        freeMegabytes: free,
        neededMegabytes: neededMegabytes(tank.settings.maxHours, tank.cycleMs),
      },
      clock: {
        timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
        latestRecordWallMs: book.newestRecordWallMs,
        // A hurried tank's clock is its own.
        steppedMs: tank.clock.virtual ? 0 : (clockWatch?.steppedMs() ?? 0),
      },
      alerts: alertReadiness?.() ?? null,
      drill: book.drill(supplyOf(tank)),
      protections: capabilities,
      afterMains: tank.settings.rectifier.afterMains ?? 'unknown',
    };
  }
}

/** Of the run that is on the tank; null where there is none or the sentinel does not guard it yet. */
function reactionFor({ run }: Tank): Reaction | null {
  if (run?.guard == null || isFinal(run.state.lifecycle)) return null;
  return reactionOf(run.state, run.guard.hungOffMs);
}

/** The last measured current; null where it is from before the output went off. */
function measuredOf(tank: Tank): number | null {
  const { lastReading } = tank;
  if (lastReading === null) return null;
  const { output, outputSinceWallMs } = tank.snapshot();
  const old = output === 'confirmedOff' && lastReading.wallMs <= outputSinceWallMs;
  return old ? null : lastReading.reading.amps;
}

/** Of the run that waits for its start; null while there is none. */
function setPointsOf(tank: Tank): SetPointFacts | null {
  const state = tank.run?.state;
  if (state === undefined || isFinal(state.lifecycle)) return null;
  return {
    readBack: state.durable && state.programmed,
    volts: state.plan.limits.setVolts,
    amps: state.confirmedAmps,
  };
}
