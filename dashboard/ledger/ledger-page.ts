/** The Baths page: all ledgers, or the one of a bath with what is due, its record, and the forms for it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Symptom } from '../../daemon/chemistry/symptoms.ts';
import type { Problem } from '../../daemon/piece/model.ts';
import type { LedgerEntry, LedgerLine, LedgerView, SavedEntry } from '../../daemon/wire/ledger.ts';
import { access } from '../access.ts';
import { ApiError } from '../api.ts';
import { connection } from '../connection.ts';
import { heading } from '../element.ts';
import type { LedgerPlace } from '../route.ts';
import { addresses } from '../route.ts';
import { words } from '#words/common';
import {
  emptyEntry,
  entryDraftOf,
  entryOf,
  figuresDraftOf,
  figuresOf,
  underEntry,
  type EntryDraft,
  type FiguresDraft,
} from './entry-draft.ts';
import { entryForm } from './entry-form.ts';
import { figuresForm } from './figures-form.ts';
import { efficiencySection, loadSection } from './learned.ts';
import {
  addEntry,
  changeEntry,
  readEntryVersions,
  readLedger,
  readLedgers,
  readSymptoms,
} from './ledger-api.ts';
import { ledgerHead, ledgerList } from './ledger-list.ts';
import { entryText, recordSection } from './record.ts';
import { SavingPage } from './saving-page.ts';
import * as sections from './sections.ts';
import { thermometersOf } from './thermometer.ts';
import { efficiencyEntry } from './weigh-in-offers.ts';
import { ledgerWords as say } from '#words/ledger';

export class LedgerPage extends SavingPage {
  static override properties = {
    place: {},
    lines: { state: true },
    view: { state: true },
    draft: { state: true },
    figures: { state: true },
    symptom: { state: true },
  };
  /** Null for the list of all. */
  declare place: LedgerPlace | null;
  declare lines: readonly LedgerLine[] | null;
  declare view: LedgerView | null;
  declare draft: EntryDraft;
  /** Null while the figures are not being changed. */
  declare figures: FiguresDraft | null;
  declare symptom: string;
  #symptoms: readonly Symptom[] = [];
  #correcting: SavedEntry | null = null;
  readonly #versions = new Map<number, readonly SavedEntry[]>();

  constructor() {
    super();
    this.place = null;
    this.lines = null;
    this.view = null;
    this.draft = emptyEntry;
    this.figures = null;
    this.symptom = '';
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('place')) return;
    this.view = null;
    this.lines = null;
    this.#forget();
    void this.attempt(() => this.load());
  }

  #forget(): void {
    this.draft = { ...emptyEntry, name: this.view?.additions[0]?.name ?? '' };
    this.figures = null;
    this.#correcting = null;
    this.problems = [];
  }

  protected override async load(): Promise<void> {
    const { place } = this;
    if (place === null) {
      this.lines = await readLedgers();
      return;
    }
    if (this.#symptoms.length === 0) this.#symptoms = await readSymptoms();
    const view = await readLedger(place);
    if (place !== this.place) return;
    const first = this.view === null;
    this.view = view;
    if (first) this.draft = { ...this.draft, name: view.additions[0]?.name ?? '' };
  }

  protected override onPage(problem: Problem): Problem {
    return underEntry(problem);
  }

  /** Adds, says so, and shows what follows from it. */
  #add(entry: LedgerEntry, atWallMs: number | null, told: string): Promise<void> {
    return this.attempt(async () => {
      if (this.place === null) return;
      await addEntry(this.place, entry, atWallMs);
      this.#forget();
      await this.load();
      this.told = told;
    });
  }

  #change(saved: SavedEntry, entry: LedgerEntry | null, at: number | null, told: string): void {
    void this.attempt(async () => {
      await changeEntry(saved, entry, at);
      this.#versions.delete(saved.id);
      if (this.#correcting?.id === saved.id) this.#forget();
      await this.load();
      this.told = told;
    });
  }

  #saveEntry(): void {
    const { entry, atWallMs, problems } = entryOf(this.draft, this.view?.load?.runId ?? null);
    if (this.refused(problems)) return;
    const correcting = this.#correcting;
    if (correcting === null) {
      void this.#add(entry, atWallMs, say.entry.saved(entryText(entry, this.#symptoms)));
      return;
    }
    // The run that a symptom was seen on stays with it.
    const { entry: before } = correcting;
    const kept =
      entry.kind === 'symptom' && before?.kind === 'symptom'
        ? { ...entry, runId: before.runId }
        : entry;
    this.#change(correcting, kept, atWallMs, say.entry.corrected);
  }

  #saveFigures(): void {
    if (this.figures === null) return;
    const { entry, problems } = figuresOf(this.figures);
    if (!this.refused(problems)) void this.#add(entry, null, say.figures.saved);
  }

  /** Opens the form with this in it, where the hand is next. */
  async #enter(draft: EntryDraft, correcting: SavedEntry | null): Promise<void> {
    this.draft = draft;
    this.#correcting = correcting;
    this.problems = [];
    this.told = '';
    await this.updateComplete;
    const form = this.querySelector('.entry-form');
    form?.scrollIntoView({ block: 'center' });
    form?.querySelector<HTMLElement>('h2')?.focus({ preventScroll: true });
  }

  #takeEfficiency(): void {
    const learned = this.view?.efficiency?.learned ?? null;
    if (learned === null) return;
    const { entry, told } = efficiencyEntry(learned);
    void this.#add(entry, null, told);
  }

  async #bringBack(saved: SavedEntry): Promise<void> {
    await this.attempt(async () => {
      const versions = await readEntryVersions(saved.id);
      const before = versions.find(({ entry }) => entry !== null)?.entry ?? null;
      await changeEntry(saved, before, null);
      this.#versions.delete(saved.id);
      await this.load();
      this.told = say.record.broughtBack;
    });
  }

  async #openVersions(saved: SavedEntry): Promise<void> {
    if (this.#versions.get(saved.id)?.length === saved.version) return;
    try {
      this.#versions.set(saved.id, await readEntryVersions(saved.id));
      this.requestUpdate();
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
  }

  #presses(view: LedgerView): sections.Presses {
    return {
      reason: this.reason,
      enter: (part) => void this.#enter({ ...emptyEntry, ...part }, null),
      changeFigures: () => (this.figures = figuresDraftOf(view)),
      takeEfficiency: () => this.#takeEfficiency(),
      thermometers:
        connection.state === 'live' ? thermometersOf(connection.tank(view.tankId), view) : [],
      takeBackEfficiency: () => {
        const adopted = view.efficiency?.adopted;
        if (adopted) this.#change(adopted, null, null, say.ok);
      },
    };
  }

  #figuresForm(): unknown {
    if (this.figures === null) return nothing;
    return figuresForm({
      draft: this.figures,
      problems: this.problems,
      reason: this.reason,
      change: (part) => {
        if (this.figures !== null) this.figures = { ...this.figures, ...part };
        this.problems = [];
      },
      save: () => this.#saveFigures(),
      cancel: () => {
        this.figures = null;
        this.problems = [];
      },
    });
  }

  #entryForm(view: LedgerView): TemplateResult {
    return entryForm({
      draft: this.draft,
      problems: this.figures === null ? this.problems : [],
      correcting: this.#correcting !== null,
      additives: view.additions.map(({ name }) => name),
      symptoms: this.#symptoms,
      reason: this.reason,
      change: (part) => {
        this.draft = { ...this.draft, ...part };
        this.problems = [];
      },
      save: () => this.#saveEntry(),
      cancel: () => this.#forget(),
    });
  }

  #record(view: LedgerView): TemplateResult {
    return recordSection({
      entries: view.entries,
      symptoms: this.#symptoms,
      versions: this.#versions,
      canChange: access.may('control'),
      correct: (saved) => {
        const draft = entryDraftOf(saved);
        if (draft !== null) void this.#enter(draft, saved);
      },
      takeBack: (saved) => this.#change(saved, null, null, say.record.tookBack),
      bringBack: (saved) => void this.#bringBack(saved),
      open: (saved) => void this.#openVersions(saved),
    });
  }

  #bath(view: LedgerView): TemplateResult {
    const presses = this.#presses(view);
    const chosen = this.#symptoms.find(({ id }) => id === this.symptom) ?? null;
    return html`<p class="aside over"><a href=${addresses.ledger}>${say.back}</a></p>
      ${heading(view.bathName ?? view.bathId)} ${ledgerHead(view)} ${this.said()}
      <div class="split">
        <div>
          ${sections.additionsSection(view, presses, this.#figuresForm())}
          ${sections.anodesSection(view, presses)} ${sections.temperatureSection(view, presses)}
          ${sections.symptomsSection(this.#symptoms, chosen, (id) => (this.symptom = id), presses)}
        </div>
        <div>
          ${this.#entryForm(view)} ${efficiencySection(view, presses)} ${loadSection(view)}
          ${this.#record(view)}
        </div>
      </div>`;
  }

  override render(): TemplateResult {
    const { view, lines } = this;
    if (this.place !== null && view !== null) return this.#bath(view);
    return html`${heading(say.title)}
      <p class="aside">${say.intro}</p>
      <p class="error" role="alert">${this.error}</p>
      ${
        lines === null
          ? html`<p ?hidden=${this.error !== ''}>${words.loading}</p>`
          : ledgerList(lines)
      }`;
  }
}

customElements.define('ledger-page', LedgerPage);
