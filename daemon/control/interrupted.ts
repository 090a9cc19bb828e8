/** Runs that were cut short: shown until the maker carries them on or ends them. Nothing is switched from here. */

import type { Bath } from '../chemistry/model.ts';
import { thicknessNow } from '../run/forecast.ts';
import type { InterruptedRecord, StoreWriter } from '../store/door.ts';
import type { Command, CommandAnswer, ControlMessage } from '../wire/command.ts';
import type { InterruptedRun } from '../wire/interrupted.ts';
import type { RunRecord } from '../wire/run.ts';
import { refusal } from './refusal.ts';

type EndCommand = Extract<Command, { kind: 'end-interrupted' }>;

export interface InterruptedParts {
  readonly store: StoreWriter;
  readonly tanks: ReadonlyMap<string, { readonly settings: { readonly name: string } }>;
  readonly baths: readonly Bath[];
  readonly publish: (message: ControlMessage) => void;
  /** Sentences for the log of the process. */
  readonly onNotice: (sentence: string) => void;
}

export class InterruptedRuns {
  readonly #parts: InterruptedParts;
  #waiting: readonly InterruptedRun[] = [];

  constructor(parts: InterruptedParts) {
    this.#parts = parts;
  }

  get waiting(): readonly InterruptedRun[] {
    return this.#waiting;
  }

  /** Reads anew what waits, and shows it. A log that cannot be read changes nothing. */
  async refresh(): Promise<void> {
    try {
      const records = await this.#parts.store.interrupted.waiting();
      this.#waiting = records.map((record) => this.#shown(record));
      this.#parts.publish({ type: 'interrupted', runs: [...this.#waiting] });
    } catch (error) {
      this.#parts.onNotice(error instanceof Error ? error.message : String(error));
    }
  }

  /** Keeps it as interrupted, with who decided so and a note. */
  async end({ runId, by, note }: EndCommand): Promise<CommandAnswer> {
    const words = note.trim();
    const message =
      `Ended here by ${by}; kept as interrupted.` + (words === '' ? '' : ` Note: ${words}`);
    const answer = await this.#parts.store.interrupted.end(runId, message, Date.now());
    await this.refresh();
    switch (answer.kind) {
      case 'ended':
        this.#parts.publish({ type: 'event', event: answer.event });
        return { ok: true, runId };
      case 'unknown':
        return refusal('notFound', `There is no run "${runId}" in the log.`);
      case 'notInterrupted':
        return refusal('refused', 'This run was not interrupted: there is nothing to decide.');
      case 'carriedOn':
        return refusal('stale', `Run ${answer.byRunId} carries this one on already.`);
      case 'endedAlready':
        return refusal('stale', `This is decided already. ${answer.message}`);
    }
  }

  /** A run that carries another one on has started: that one waits no more. */
  async carriedOn(record: RunRecord, by: string): Promise<void> {
    const { continues, id, tankId } = record;
    if (continues === null) return;
    try {
      const event = await this.#parts.store.appendEvent({
        runId: continues,
        tankId,
        atMs: null,
        wallMs: Date.now(),
        code: 'carriedOn',
        message: `Carried on as run ${id}, started by ${by}.`,
      });
      this.#parts.publish({ type: 'event', event });
    } catch (error) {
      // The new run's own row says the same; the failing disk is told of elsewhere.
      this.#parts.onNotice(error instanceof Error ? error.message : String(error));
    }
    await this.refresh();
  }

  #shown({ run, earlier }: InterruptedRecord): InterruptedRun {
    const { plan, ampHours, lowAmpHours, highAmpHours } = run;
    const tankName = this.#parts.tanks.get(run.tankId)?.settings.name ?? null;
    return {
      runId: run.id,
      tankId: run.tankId,
      tankName,
      pieceName: plan.request.piece.name,
      bathName: plan.bath.name,
      simulated: run.simulated,
      reason: run.outcome?.reason ?? '',
      startedWallMs: run.startedWallMs ?? run.armedWallMs,
      seenWallMs: run.endedWallMs ?? run.armedWallMs,
      offConfirmed: run.offConfirmed,
      ampHours,
      lowAmpHours,
      highAmpHours,
      targetAmpHours: plan.targetChargeAmpHours,
      thicknessMicrometres: thicknessNow(plan, ampHours, lowAmpHours, highAmpHours),
      targetMicrometres: plan.thicknessMicrometres.value,
      earlierRunIds: [...earlier],
      remarks: this.#remarks(run),
      hindrance: tankName === null ? goneTank(run.tankId) : null,
    };
  }

  #remarks(run: RunRecord): string[] {
    const { plan, ampHours, highAmpHours } = run;
    const { targetChargeAmpHours, bath } = plan;
    const remarks: string[] = [];
    if (!this.#parts.baths.some(({ id }) => id === bath.id)) {
      remarks.push(
        `Its bath “${bath.name}” is not among the baths of this bench any more: carried on, it needs another bath, and its plan a second look.`,
      );
    }
    if (ampHours >= targetChargeAmpHours) {
      remarks.push('It had reached its target: carrying on needs a larger one.');
    } else if (highAmpHours >= targetChargeAmpHours) {
      remarks.push(
        'Had the current flowed on unseen, the piece may have passed its target: measure it before you carry on.',
      );
    }
    return remarks;
  }
}

function goneTank(tankId: string): string {
  return `The settings have no tank “${tankId}” any more. Put it back there to carry on, or end the run here.`;
}
