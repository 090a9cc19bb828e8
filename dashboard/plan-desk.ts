/** Behind the Plan page: the draft and the way back from each edit, kept in the browser, and its plan. */

import type { Problem } from '../daemon/piece/model.ts';
import type { Left } from '../daemon/run/left.ts';
import type { MeasuredPiece } from '../daemon/run/measured-piece.ts';
import type { Plan } from '../daemon/run/model.ts';
import type { Outlook } from '../daemon/run/outlook.ts';
import type { BenchSnapshot, TankSnapshot } from '../daemon/wire/bench.ts';
import type { RunRecord } from '../daemon/wire/run.ts';
import { ApiError, command, plan as askPlan, read } from './api.ts';
import { connection } from './connection.ts';
import type { Change } from './form-field.ts';
import type { PieceDraft } from './piece/draft.ts';
import { Measuring, type Measurement } from './piece/measuring.ts';
import { totalsOf, type Totals } from './piece/totals.ts';
import { carriedDraft, type CarryOn } from './plan-carry.ts';
import type { Comparing } from './plan-compare.ts';
import { copied, newDraft, withAnotherPiece, withBareUnit, type Draft } from './plan-draft.ts';
import type { History } from './plan-history.ts';
import { keepDraft, keepHistory, keptElsewhere, keptHistory } from './plan-keep.ts';
import { fieldsOfPage } from './plan-problems.ts';
import { isAged, neverAsked, type Moment } from './plan-question.ts';
import { placeNow, requestOf } from './plan-request.ts';
import { details, sizeGoal } from './plan-lazy.ts';
import { isUndoKey } from './plan-undo.ts';
import { isFree } from './tank-lines.ts';
import { densityUnit } from './units.ts';
import { words } from '#words/common';
import { planWords } from '#words/plan';

/** Rest after the last key before a plan is asked for, and before the history is written down, ms. */
const restMs = 250;
const keepRestMs = 400;
/** Rest before a question that got no answer is put again, ms. */
const againMs = 3000;
/** A plan by the clock ages while one looks at it: it is asked for anew so often, ms. */
const clockMs = 30_000;

const reasonOf = (error: unknown): string =>
  error instanceof ApiError ? error.message : words.failed;

export class PlanDesk {
  readonly history: History<Draft>;
  /** Null until the comparison is first opened. */
  comparing: Comparing | null = null;
  readonly #measuring: Measuring;
  /** The last plan there was; it stays on show while the entries that follow cannot be planned. */
  planned: { readonly plan: Plan; readonly outlook: Outlook } | null = null;
  problems: readonly Problem[] = [];
  /** Whether there ever was an answer. */
  answered = false;
  /** True from a change until its answer is there. */
  pending = true;
  error = '';
  /** What the last undo took back. */
  said = '';
  /** An earlier run that is asked for; null once it is in the draft, or given up. */
  carrying: CarryOn | null = null;
  /** What another tab of this browser has kept in place of this draft. */
  elsewhere: Draft | null = null;
  readonly #changed: () => void;
  #timer = 0;
  #keepTimer = 0;
  #clock = 0;
  #asking: AbortController | null = null;
  #settled = false;
  /** When the answer on show was asked for. */
  #asked = neverAsked;
  #stopWaiting = (): void => undefined;
  #totals: {
    readonly piece: PieceDraft;
    readonly newest: Measurement | null;
    readonly totals: Totals;
  } | null = null;

  constructor(changed: () => void) {
    this.#changed = changed;
    this.#measuring = new Measuring(changed);
    this.history = keptHistory();
  }

  get draft(): Draft {
    return this.history.now;
  }

  get plan(): Plan | null {
    return this.planned?.plan ?? null;
  }

  get outlook(): Outlook | null {
    return this.planned?.outlook ?? null;
  }

  /** Whether the plan on show is of the entries as they are. */
  get current(): boolean {
    const answered = !this.pending && this.error === '' && this.problems.length === 0;
    return answered && this.carrying === null;
  }

  /** What is left to do where a run is carried on. */
  get left(): Left | null {
    return this.draft.continues && this.outlook ? this.outlook.left : null;
  }

  /** What the daemon has found of the piece as it is now; null while it has not answered. */
  get measured(): MeasuredPiece | null {
    return this.#measuring.known(this.draft.piece);
  }

  /** What is known of the piece, be it of a moment ago; the same object until either changes. */
  get totals(): Totals {
    const { piece } = this.draft;
    const { newest } = this.#measuring;
    if (this.#totals?.piece !== piece || this.#totals.newest !== newest) {
      this.#totals = { piece, newest, totals: totalsOf(piece, newest) };
    }
    return this.#totals.totals;
  }

  start(): void {
    document.addEventListener('keydown', this.#onKey);
    document.addEventListener('visibilitychange', this.#onSight);
    addEventListener('pagehide', this.#keepHistory);
    addEventListener('storage', this.#onStorage);
    this.#clock = window.setInterval(() => {
      if (this.draft.pace === 'done-by' && !this.pending && !document.hidden) void this.#ask();
    }, clockMs);
  }

  stop(): void {
    document.removeEventListener('keydown', this.#onKey);
    document.removeEventListener('visibilitychange', this.#onSight);
    removeEventListener('pagehide', this.#keepHistory);
    removeEventListener('storage', this.#onStorage);
    clearTimeout(this.#timer);
    clearInterval(this.#clock);
    this.#asking?.abort();
    this.#stopWaiting();
    this.comparing?.stop();
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

  /** Takes the plan of an earlier run, to go on from where that one ended; true once it is taken. */
  async carryOn(runId: string): Promise<boolean> {
    const asked: CarryOn = { runId, error: '' };
    this.carrying = asked;
    this.#changed();
    try {
      const run = await read<RunRecord>(`/api/runs/${encodeURIComponent(runId)}`);
      if (this.carrying !== asked) return false;
      this.carrying = null;
      this.#take(carriedDraft(run), planWords.continuesWhat);
      return true;
    } catch (error) {
      if (this.carrying === asked) this.carrying = { runId, error: reasonOf(error) };
      this.#changed();
      return false;
    }
  }

  /** Gives up carrying on. */
  readonly fromZero = (): void => {
    this.carrying = null;
    if (this.draft.continues) this.change((draft) => (draft.continues = null), planWords.drop);
    else this.#changed();
  };

  readonly change: Change = (edit, what, entry = '') => {
    // Bare densities keep the unit in which they were typed.
    const next = copied(withBareUnit(this.draft, densityUnit()));
    edit(next);
    this.#take(next, what, entry);
  };

  readonly changePiece = (piece: PieceDraft, what: string, entry = ''): void => {
    this.#take({ ...this.draft, piece }, what, entry);
  };

  /** Takes another piece in place of the one that was there. */
  readonly openPiece = (piece: PieceDraft, what: string): void => {
    this.#take(withAnotherPiece(this.draft, piece), what);
  };

  /** Goes on with what another tab has kept. */
  readonly takeElsewhere = (): void => {
    const draft = this.elsewhere;
    this.elsewhere = null;
    if (draft) this.#take(draft, planWords.elsewhere.what);
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
    if (isAged(this.draft, this.#asked, this.#now())) await this.#askNow();
    const { request, startable } = this.plan ?? {};
    if (!request || !startable || !this.current || this.left?.ampHours === 0) return false;
    try {
      await command(`/api/tanks/${encodeURIComponent(request.tankId)}/arm`, {
        plan: request,
        checklist,
        continues: this.draft.continues?.runId ?? null,
      });
      this.history.replace({ ...this.draft, continues: null });
      keepDraft(this.draft);
      return true;
    } catch (error) {
      this.error = reasonOf(error);
      this.#changed();
      return false;
    }
  }

  /** Opens or shuts the comparison; its entries begin with what the bath suggests. */
  compare(open: boolean): void {
    if (details.code === null) return;
    this.comparing ??= details.code.newComparing(this.#changed);
    this.comparing.open = open;
    const bath = connection.bench?.baths.find(({ id }) => id === this.draft.bathId);
    const filled = open && bath ? this.comparing.filled(this.draft.compare, bath) : null;
    if (filled) this.history.replace({ ...this.draft, compare: [...filled] });
    if (open && this.current) this.#compare();
    this.#changed();
  }

  #compare(): void {
    if (this.comparing) this.comparing.ask(this.#question(this.measured).request, this.draft);
  }

  /** A hurried tank has a clock of its own, and that is the one its run will end on. */
  #question(measured: MeasuredPiece | null): ReturnType<typeof requestOf> {
    const tank = connection.tank(this.draft.tankId);
    return requestOf(this.draft, measured, placeNow(tank?.wallMs));
  }

  readonly #onKey = (event: KeyboardEvent): void => {
    const way = isUndoKey(event);
    if (way === null) return;
    event.preventDefault();
    this.step(way);
  };

  /** A page that was out of sight asks anew as soon as it knows the hour of the tank again. */
  readonly #onSight = (): void => {
    if (document.hidden || this.pending || !isAged(this.draft, this.#asked, this.#now())) return;
    this.pending = true;
    this.#changed();
    this.#stopWaiting();
    this.#stopWaiting = connection.listen({
      bench: () => {
        this.#stopWaiting();
        void this.#ask();
      },
    });
  };

  readonly #onStorage = (event: StorageEvent): void => {
    const other = keptElsewhere(event, this.draft);
    if (other === undefined) return;
    this.elsewhere = other;
    this.#changed();
  };

  readonly #keepHistory = (): void => {
    clearTimeout(this.#keepTimer);
    keepHistory(this.history, this.elsewhere);
  };

  #now(): Moment {
    const tankMs = placeNow(connection.tank(this.draft.tankId)?.wallMs).nowWallMs;
    return { pageMs: Date.now(), tankMs };
  }

  /** Takes in a draft, with the way back from it. */
  #take(draft: Draft, what: string, entry = ''): void {
    // What another tab has kept would be written over: an undo leads back to it.
    if (this.elsewhere) this.history.shelve(this.elsewhere, planWords.elsewhere.what);
    this.elsewhere = null;
    this.history.record(draft, what, entry);
    this.said = '';
    this.#follow();
  }

  /** Keeps the draft and plans it. */
  #follow(): void {
    keepDraft(this.draft);
    clearTimeout(this.#keepTimer);
    this.#keepTimer = window.setTimeout(this.#keepHistory, keepRestMs);
    this.pending = true;
    // Areas and drawings follow the keys at once; who asks for the plan hears whether they came.
    this.#measuring.ask(this.draft.piece).catch(() => undefined);
    this.#asking?.abort();
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#ask(), restMs);
    this.#changed();
  }

  /** Asks anew; until the answer is there, the one before counts no more. */
  async #askNow(): Promise<void> {
    this.pending = true;
    this.#changed();
    await this.#ask();
  }

  async #ask(): Promise<void> {
    const asking = new AbortController();
    this.#asking = asking;
    try {
      if (this.draft.goal === 'final-size') await sizeGoal.fetched();
      const measured = await this.#measuring.ask(this.draft.piece);
      if (asking.signal.aborted) return;
      const { request, problems } = this.#question(measured);
      const now = this.#now();
      if (problems.length > 0) {
        this.#answer(null, problems);
        return;
      }
      const result = await askPlan(request, asking.signal, this.draft.continues?.ampHours);
      if (asking.signal.aborted) return;
      this.#asked = now;
      this.#answer(result.ok ? result : null, result.ok ? [] : result.problems);
      if (result.ok) this.#compare();
    } catch (error) {
      if (asking.signal.aborted) return;
      this.#answer(null, [], reasonOf(error));
      // Without an answer nothing is lost; it is asked again by itself.
      this.#timer = window.setTimeout(() => void this.#ask(), againMs);
    }
  }

  #answer(found: PlanDesk['planned'], problems: readonly Problem[], error = ''): void {
    this.planned = found ?? this.planned;
    this.answered = true;
    this.problems = fieldsOfPage(problems);
    this.error = error;
    this.pending = false;
    this.#changed();
  }
}
