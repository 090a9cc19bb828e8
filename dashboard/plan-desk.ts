/** Behind the Plan page: the draft and the way back from each edit, kept in the browser, and its plan. */

import type { Problem } from '../daemon/piece/model.ts';
import type { Plan } from '../daemon/run/model.ts';
import type { BenchSnapshot, TankSnapshot } from '../daemon/wire/bench.ts';
import { runRecordSchema } from '../daemon/wire/run.ts';
import { ApiError, command, plan as askPlan, read } from './api.ts';
import { connection } from './connection.ts';
import type { Change } from './form-field.ts';
import type { PieceDraft } from './piece/draft.ts';
import { restOf, solvedForRest } from './plan-clock.ts';
import { Comparing } from './plan-compare.ts';
import { copied, draftFrom, draftOf, newDraft, type Draft } from './plan-draft.ts';
import { History } from './plan-history.ts';
import { leftOf, type Left } from './plan-left.ts';
import { fieldsOfPage } from './plan-problems.ts';
import { placeNow, requestOf } from './plan-request.ts';
import { isUndoKey } from './plan-undo.ts';
import { isFree } from './tank-face.ts';
import { keep, kept } from './theme.ts';
import { words } from './words.ts';
import { planWords } from './words-plan.ts';

const draftKey = 'nightbath.draft';
const historyKey = 'nightbath.plan-history';
/** Rest after the last key before a plan is asked for, and before the history is written down, ms. */
const restMs = 250;
const keepRestMs = 400;
/** Rest before a question that got no answer is put again, ms. */
const againMs = 3000;
/** A plan by the clock ages while one looks at it: it is asked for anew so often, ms. */
const clockMs = 30_000;

const draftFromStored = (stored: unknown): Draft => draftFrom(JSON.stringify(stored));
const reasonOf = (error: unknown): string =>
  error instanceof ApiError ? error.message : words.failed;

export class PlanDesk {
  readonly history: History<Draft>;
  readonly comparing: Comparing;
  /** The last plan there was; it stays on show while the entries that follow cannot be planned. */
  plan: Plan | null = null;
  problems: readonly Problem[] = [];
  /** True from a change until its answer is there. */
  pending = true;
  error = '';
  /** What the last undo took back. */
  said = '';
  readonly #changed: () => void;
  #timer = 0;
  #keepTimer = 0;
  #clock = 0;
  #asking: AbortController | null = null;
  #settled = false;

  constructor(changed: () => void) {
    this.#changed = changed;
    this.comparing = new Comparing(changed);
    this.history = History.from(kept(historyKey), draftFrom(kept(draftKey)), draftFromStored);
  }

  get draft(): Draft {
    return this.history.now;
  }

  /** Whether the plan on show is of the entries as they are. */
  get current(): boolean {
    return !this.pending && this.error === '' && this.problems.length === 0;
  }

  /** What is left to do where a run is carried on. */
  get left(): Left | null {
    const { continues } = this.draft;
    return continues && this.plan ? leftOf(this.plan, continues.ampHours) : null;
  }

  start(): void {
    document.addEventListener('keydown', this.#onKey);
    addEventListener('pagehide', this.#keepHistory);
    this.#clock = window.setInterval(() => {
      if (this.draft.pace === 'done-by' && !this.pending && !document.hidden) void this.#ask();
    }, clockMs);
  }

  stop(): void {
    document.removeEventListener('keydown', this.#onKey);
    removeEventListener('pagehide', this.#keepHistory);
    clearTimeout(this.#timer);
    clearInterval(this.#clock);
    this.#asking?.abort();
    this.comparing.stop();
    this.#keepHistory();
  }

  /** Puts a tank and a bath into the draft once the bench is known, and asks for the first plan. */
  settle({ tanks, baths }: BenchSnapshot, tankId: string | null): void {
    if (this.#settled || tanks.length === 0) return;
    this.#settled = true;
    const draft = copied(this.draft);
    const find = (id: string | null): TankSnapshot | undefined => tanks.find((t) => t.id === id);
    const tank = find(tankId) ?? find(draft.tankId) ?? tanks.find(isFree) ?? tanks[0];
    if (tank && tank.id !== draft.tankId) {
      draft.tankId = tank.id;
      draft.bathId = tank.bathId;
    }
    if (!baths.some(({ id }) => id === draft.bathId)) draft.bathId = tank?.bathId ?? '';
    this.history.replace(draft);
    this.#follow();
  }

  /** Takes the plan of an earlier run, to go on from where that one ended. */
  async carryOn(runId: string): Promise<void> {
    try {
      const run = await read(`/api/runs/${encodeURIComponent(runId)}`, runRecordSchema);
      const { ampHours, thicknessMicrometres } = run;
      const continues = { runId, ampHours, thicknessMicrometres };
      this.#take({ ...draftOf(run.plan.request), continues }, planWords.continuesWhat);
    } catch (error) {
      this.error = reasonOf(error);
      this.#changed();
    }
  }

  readonly change: Change = (edit, what, entry = '') => {
    const next = copied(this.draft);
    edit(next);
    this.#take(next, what, entry);
  };

  readonly changePiece = (piece: PieceDraft, what: string, entry = ''): void => {
    this.#take({ ...this.draft, piece }, what, entry);
  };

  readonly startAnew = (): void => {
    const { tankId, bathId } = this.draft;
    this.#take({ ...newDraft(), tankId, bathId }, planWords.freshWhat);
  };

  readonly step = (way: 'undo' | 'redo'): void => {
    const what = (way === 'undo' ? this.history.undoes : this.history.redoes) ?? '';
    if (!this.history[way]()) return;
    this.said = (way === 'undo' ? planWords.undone : planWords.redone)(what);
    this.#follow();
  };

  /** Arms the plan on show; true once it is armed. */
  async arm(checklist: readonly string[]): Promise<boolean> {
    const { request } = this.plan ?? {};
    if (!request || !this.current) return false;
    try {
      await command(`/api/tanks/${encodeURIComponent(request.tankId)}/arm`, {
        plan: request,
        checklist,
        continues: this.draft.continues?.runId ?? null,
      });
      this.history.replace({ ...this.draft, continues: null });
      keep(draftKey, JSON.stringify(this.draft));
      return true;
    } catch (error) {
      this.error = reasonOf(error);
      this.#changed();
      return false;
    }
  }

  /** Opens or shuts the comparison; its entries begin with what the bath suggests. */
  compare(open: boolean): void {
    this.comparing.open = open;
    const bath = connection.bench?.baths.find(({ id }) => id === this.draft.bathId);
    const filled = open && bath ? this.comparing.filled(this.draft.compare, bath) : null;
    if (filled) this.history.replace({ ...this.draft, compare: [...filled] });
    if (open && this.current) this.comparing.ask(this.asked().request, this.draft.compare);
    this.#changed();
  }

  /** The question that the draft comes to now. */
  asked(): ReturnType<typeof requestOf> {
    // A hurried tank has a clock of its own, and that is the one its run will end on.
    const tank = connection.tank(this.draft.tankId);
    const asked = requestOf(this.draft, placeNow(tank?.wallMs));
    const { target } = asked.request;
    const { continues, bathId } = this.draft;
    const bath = connection.bench?.baths.find(({ id }) => id === bathId);
    const byClock = target.kind === 'done-by' && continues !== null && asked.problems.length === 0;
    if (!byClock || !tank || !bath) return asked;
    try {
      return solvedForRest(asked.request, target, continues.ampHours, bath, tank.facts);
    } catch {
      // A piece that is impossible has nothing to solve; the daemon says what is wrong with it.
      return asked;
    }
  }

  /** How long what is left takes at a density, ms; null where the run begins from nothing. */
  leftMsAt(): ((ampsPerDm2: number) => number) | null {
    const { draft, plan } = this;
    const tank = connection.tank(draft.tankId);
    const { target } = plan?.request ?? {};
    if (!draft.continues || !plan || !tank || !target || target.kind === 'done-by') return null;
    const { ampHours } = draft.continues;
    return restOf(plan.request, target, ampHours, plan.bath, tank.facts).durationMs;
  }

  readonly #onKey = (event: KeyboardEvent): void => {
    const way = isUndoKey(event);
    if (way === null) return;
    event.preventDefault();
    this.step(way);
  };

  readonly #keepHistory = (): void => {
    clearTimeout(this.#keepTimer);
    keep(historyKey, this.history.toText());
  };

  /** Takes in a draft, with the way back from it. */
  #take(draft: Draft, what: string, entry = ''): void {
    this.history.record(draft, what, entry);
    this.said = '';
    this.#follow();
  }

  /** Keeps the draft and plans it. */
  #follow(): void {
    keep(draftKey, JSON.stringify(this.draft));
    clearTimeout(this.#keepTimer);
    this.#keepTimer = window.setTimeout(this.#keepHistory, keepRestMs);
    this.pending = true;
    this.#asking?.abort();
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#ask(), restMs);
    this.#changed();
  }

  async #ask(): Promise<void> {
    const { request, problems } = this.asked();
    if (problems.length > 0) {
      this.#answer(null, problems);
      return;
    }
    const asking = new AbortController();
    this.#asking = asking;
    try {
      const result = await askPlan(request, asking.signal);
      if (asking.signal.aborted) return;
      this.#answer(result.ok ? result.plan : null, result.ok ? [] : result.problems);
      if (result.ok) this.comparing.ask(request, this.draft.compare);
    } catch (error) {
      if (asking.signal.aborted) return;
      this.#answer(null, [], reasonOf(error));
      // Without an answer nothing is lost; it is asked again by itself.
      this.#timer = window.setTimeout(() => void this.#ask(), againMs);
    }
  }

  #answer(plan: Plan | null, problems: readonly Problem[], error = ''): void {
    this.plan = plan ?? this.plan;
    this.problems = fieldsOfPage(problems);
    this.error = error;
    this.pending = false;
    this.#changed();
  }
}
