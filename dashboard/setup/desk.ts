/** What the Setup page knows of the settings file, and how it changes it: one save at a time. */

import type { Problem } from '../../daemon/piece/model.ts';
import type { SettingsChange, SettingsFile } from '../../daemon/wire/settings.ts';
import { ApiError, command, read, send } from '../api.ts';
import { words } from '#words/common';
import { setupWords as say } from '#words/setup';

/** A new start takes seconds; the daemon itself gives up on one after ten, ms. */
const takingMs = 30_000;

export type Path = readonly (string | number)[];

interface Saved {
  readonly file: string;
  readonly copied: boolean;
}

/** A note of the log. */
export interface Note {
  readonly wallMs: number;
  readonly message: string;
}

/** Whether what a problem is about is the field of a name, or an entry of the list in it. */
export function isAt(field: string, name: string): boolean {
  return field === name || field.startsWith(`${name}[`);
}

export class SetupDesk {
  file: SettingsFile | null = null;
  history: readonly Note[] = [];
  /** What was done, and what was not. */
  told = '';
  error = '';
  problems: readonly Problem[] = [];
  /** Both sides of a save that came too late. */
  conflict: readonly Problem[] = [];
  busy = false;
  /** The daemon was asked to use the file, and has not come back with it yet. */
  taking = false;
  /** The places of the file that have a field on this part of the page, which shows what is wrong there, by its label. */
  fields = new Map<string, string>();
  /** The last refusal was for a file that somebody else has changed meanwhile. */
  #stale = false;
  #givingUp: ReturnType<typeof setTimeout> | undefined;
  readonly #changed: () => void;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** Reads the file anew; what was said before stays. True where it could be read. */
  load(): Promise<boolean> {
    return this.attempt(() => this.#read());
  }

  async #read(): Promise<void> {
    this.file = await read<SettingsFile>('/api/settings/file');
    this.history = await read<readonly Note[]>('/api/settings/history');
  }

  /** While a new start is waited for, silence is what is to be expected. */
  async #readInSilence(): Promise<boolean> {
    try {
      await this.#read();
      this.#changed();
      return true;
    } catch {
      return false;
    }
  }

  /** Does something that may be refused, and shows the refusal. True where it was done. */
  async attempt(work: () => Promise<void>): Promise<boolean> {
    this.busy = true;
    this.error = '';
    this.#changed();
    try {
      await work();
      return true;
    } catch (error) {
      this.told = '';
      this.error = error instanceof ApiError ? error.message : words.failed;
      this.problems = error instanceof ApiError ? error.problems : [];
      this.#stale = error instanceof ApiError && error.stale;
      return false;
    } finally {
      this.busy = false;
      this.#changed();
    }
  }

  say(told: string): void {
    [this.told, this.error, this.problems, this.conflict] = [told, '', [], []];
    this.#changed();
  }

  /** Writes the changes into the file. True where they were written. */
  async save(changes: readonly SettingsChange[]): Promise<boolean> {
    const { file } = this;
    if (file === null) return false;
    if (changes.length === 0) {
      this.say(say.nothing);
      return false;
    }
    this.#endTaking('');
    const done = await this.attempt(async () => {
      const saved = await send<Saved>('POST', '/api/settings/file', { hash: file.hash, changes });
      this.told = saved.copied ? say.copied(saved.file) : say.saved(saved.file);
    });
    const stale = !done && this.#stale;
    const { told, error, problems } = this;
    await this.load();
    [this.told, this.error, this.problems] = [told, error, problems];
    if (stale) [this.conflict, this.problems, this.error] = [problems, [], say.conflict];
    this.#changed();
    return done;
  }

  async takeOver(): Promise<void> {
    await this.attempt(async () => {
      await command('/api/settings/take-over');
      this.leave();
      this.taking = true;
      this.#givingUp = setTimeout(() => void this.#giveUp(), takingMs);
      this.say(say.waiting.taking);
    });
  }

  /** The bench was read anew: says so where the file is in use now. False where that could not be told. */
  async cameBack(): Promise<boolean> {
    const { taking } = this;
    const loaded = taking ? await this.#readInSilence() : await this.load();
    if (!taking && this.told !== say.waiting.notTaken) return true;
    if (!loaded) return false;
    // It may come into use after it was given up, as when this device slept meanwhile.
    if (this.file?.waiting.length === 0) this.#endTaking(say.waiting.taken);
    return true;
  }

  /** It has not come back with the file: whoever waits is told, and may press again. */
  async #giveUp(): Promise<void> {
    const loaded = await this.#readInSilence();
    if (!this.taking) return;
    const taken = loaded && this.file?.waiting.length === 0;
    this.#endTaking(taken ? say.waiting.taken : say.waiting.notTaken);
  }

  #endTaking(told: string): void {
    this.leave();
    this.taking = false;
    this.say(told);
  }

  /** The page is left: nothing is waited for any more. */
  leave(): void {
    clearTimeout(this.#givingUp);
  }

  /** The labels of the fields that show what is wrong, each once. */
  get labels(): readonly string[] {
    const wrong = [...this.fields].filter(([name]) =>
      this.problems.some(({ field }) => isAt(field, name)),
    );
    return [...new Set(wrong.map(([, label]) => label))];
  }

  /** What is wrong where no field of the page shows it. */
  get unshown(): readonly Problem[] {
    const names = [...this.fields.keys()];
    return this.problems.filter(({ field }) => !names.some((name) => isAt(field, name)));
  }

  /** What the file has at a place; undefined where it has nothing. */
  at(path: Path): unknown {
    let value: unknown = this.file?.data;
    for (const step of path) {
      if (typeof value !== 'object' || value === null) return undefined;
      value = Reflect.get(value, step);
    }
    return value;
  }

  list(path: Path): readonly unknown[] {
    const value = this.at(path);
    return Array.isArray(value) ? value : [];
  }

  text(path: Path): string {
    const value = this.at(path);
    return typeof value === 'string' || typeof value === 'number' ? String(value) : '';
  }
}
