/** The settings desk of the page: shows the file, saves changes of it, and tells the log who made them. */

import { randomUUID } from 'node:crypto';
import type { Logger } from 'pino';
import type { Bath } from '../../chemistry/model.ts';
import type { ControlClient } from '../../control/door.ts';
import { isFinal } from '../../run/state.ts';
import {
  dialectNames,
  EditRefused,
  loadSettings,
  loadBaths,
  readEditable,
  readEditableBath,
  readPassphrases,
  saveBath,
  saveSettings,
  SettingsConflict,
  SettingsError,
} from '../../settings/door.ts';
import type { Settings } from '../../settings/model.ts';
import type { Problem } from '../../piece/model.ts';
import type { TankSnapshot } from '../../wire/bench.ts';
import type { BathFile, SettingsChange, SettingsFile } from '../../wire/settings.ts';
import type { BenchState } from '../bench-state.ts';
import type { AccessList } from '../guard.ts';
import { ProblemError, shownValue } from '../problem.ts';
import { differences, noteOf } from './difference.ts';
import { ownAddresses, servedAt } from './own-addresses.ts';
import { judgeBathChanges, judgeChanges } from './policy.ts';
import { keepSecretsHome, SecretFiles, withoutSecrets } from './secrets.ts';
import { keepUnderRun } from './under-run.ts';

export interface SettingsDeskDeps {
  readonly control: ControlClient;
  readonly bench: BenchState;
  /** As they are in use. */
  readonly settings: Settings;
  readonly baths: readonly Bath[];
  /** The file that this process was started with. */
  readonly file: string;
  readonly env: NodeJS.ProcessEnv;
  readonly passphraseFile: string | null;
  /** The names under which the page is served. */
  readonly access: AccessList;
  readonly log: Logger;
}

/** Who asks, and whether from the bench's own machine. */
export interface Asker {
  readonly by: string;
  readonly here: boolean;
}

const mostWaiting = 40;

export class SettingsDesk {
  readonly #deps: SettingsDeskDeps;

  constructor(deps: SettingsDeskDeps) {
    this.#deps = deps;
  }

  get #options() {
    return { configPath: this.#deps.file, env: this.#deps.env };
  }

  /** The file as it stands now. Throws a ProblemError where it cannot be read at all. */
  show({ here }: Asker): SettingsFile {
    const { env, passphraseFile, settings, access } = this.#deps;
    const read = said(() => readEditable(this.#options));
    let problems: readonly Problem[] = [];
    let waiting: readonly string[] = [];
    try {
      waiting = this.#waiting(loadSettings({ configPath: read.file, env }).settings);
    } catch (error) {
      if (!(error instanceof SettingsError)) throw error;
      problems = plain(error);
    }
    const set = passphraseFile === null ? {} : said(() => readPassphrases(passphraseFile));
    return {
      file: read.file,
      target: read.target,
      hash: read.hash,
      data: withoutSecrets(read.data),
      problems: [...problems],
      waiting: [...waiting],
      running: this.#running(),
      dialects: [...dialectNames(env, read.file)],
      passphrases: Object.keys(set),
      here,
      ownAddresses: ownAddresses(),
      // Without an address to listen on, a name leads to whatever passes requests on.
      servedAt: settings.web.listen.length === 0 ? [] : servedAt(access.others),
    };
  }

  /** The settings that the next start takes, unless they cannot be used: then it takes none. */
  saved(): readonly Settings[] {
    const { env } = this.#deps;
    try {
      return [loadSettings({ configPath: readEditable(this.#options).file, env }).settings];
    } catch (error) {
      if (error instanceof SettingsError) return [];
      throw error;
    }
  }

  /** Saves the changes and tells the log. Throws a ProblemError with every reason; nothing is written then. */
  save(asker: Asker, hash: string, changes: readonly SettingsChange[]) {
    judgeChanges(changes, asker.here);
    const { target } = said(() => readEditable(this.#options));
    const saved = this.#saved(hash, changes, new SecretFiles(target));
    for (const difference of differences(saved.before, saved.settings)) {
      this.note(noteOf(difference, asker.by));
    }
    this.#deps.bench.showIn(saved.settings.units);
    const { file, copied, previous } = saved;
    const waiting = [...this.#waiting(saved.settings)];
    return { file, hash: saved.hash, copied, previous, waiting };
  }

  /** Once the settings are written they name the new secrets: only before that may these go again. */
  #saved(hash: string, changes: readonly SettingsChange[], fresh: SecretFiles) {
    try {
      const placed = changes.map((change) =>
        change.kind === 'remove' ? change : { ...change, value: fresh.place(change.value) },
      );
      return said(() =>
        saveSettings(this.#options, {
          hash,
          changes: placed,
          judge: (before, after) => {
            keepSecretsHome(before, after, fresh);
            keepUnderRun(before, after, (id) => this.#whyKept(id));
          },
        }),
      );
    } catch (error) {
      fresh.drop();
      throw error;
    }
  }

  /** A bath's file as it stands now. */
  showBath(name: string): BathFile {
    return said(() => readEditableBath(this.#options, name));
  }

  /** Saves changed figures of a bath, and tells the log. Throws as `save`. */
  saveBath(asker: Asker, name: string, hash: string, changes: readonly SettingsChange[]) {
    judgeBathChanges(changes);
    const saved = said(() => saveBath(this.#options, name, { hash, changes }));
    const field = `baths[${name}]`;
    for (const difference of differences(saved.before, saved.after, field)) {
      this.note(noteOf(difference, asker.by));
    }
    return { ok: true, message: saved.file };
  }

  /** A line in the log of the bench; without control it stands in the log of this process alone. */
  note(note: string): void {
    const { control, log } = this.#deps;
    log.info(note);
    control.command({ kind: 'settings-note', note }, randomUUID()).catch((error: unknown) => {
      log.warn({ err: error }, 'The log of the bench could not be told of changed settings.');
    });
  }

  /** How figures are shown is in use at once; all else begins with a start. */
  #waiting(settings: Settings): readonly string[] {
    const { settings: inUse, baths, env } = this.#deps;
    const now = loadBaths(env, readEditable(this.#options).file);
    const found = [
      ...differences({ ...inUse, units: settings.units }, settings),
      ...differences(baths, now, 'baths'),
    ].map(({ field }) => field);
    return found.slice(0, mostWaiting);
  }

  /** Why the line of a tank has to stay as it is; empty where it may change. */
  #whyKept(id: string): string {
    const { bench, settings } = this.#deps;
    const tank = bench.tank(id);
    // One that was saved and is not in use yet has nothing to switch off.
    const inUse = settings.tanks.find((one) => one.id === id);
    if (inUse === undefined) return '';
    if (tank === null || !bench.controlAlive) return 'while it is not known what its output does';
    if (isRunning(tank)) return `while a run is on ${inUse.name}`;
    return tank.awaitsOff === true ? `while ${inUse.name} is not read back as off` : '';
  }

  #running(): string[] {
    const { bench } = this.#deps;
    return bench
      .tanks()
      .filter(isRunning)
      .map(({ name }) => name);
  }
}

function isRunning({ run }: TankSnapshot): boolean {
  return run !== null && !isFinal(run.lifecycle);
}

function plain(error: SettingsError): readonly Problem[] {
  return error.problems.map(({ field, value, bound, message }) => ({
    field,
    value,
    bound,
    message,
  }));
}

/** What the settings refuse, as a problem document. */
function said<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (error instanceof SettingsConflict) throw conflict(error);
    if (error instanceof EditRefused) throw new ProblemError('refused', error.message);
    if (error instanceof SettingsError) {
      const problems = plain(error).slice(0, 20);
      const [first] = problems;
      throw new ProblemError('invalid', first?.message ?? error.message, problems);
    }
    throw error;
  }
}

/** Both sides of every place, so that a person can decide. */
function conflict(error: SettingsConflict): ProblemError {
  const problems = error.conflicts.map(({ path, yours, now }): Problem => {
    const field = path.reduce<string>(
      (text, step) =>
        typeof step === 'number' ? `${text}[${step}]` : `${text}${text === '' ? '' : '.'}${step}`,
      '',
    );
    const secret = path[0] === 'alerts';
    const value = secret ? 'not shown here' : shownValue(yours);
    const bound = secret ? 'not shown here' : shownValue(now);
    const message = `${field}: yours is ${value}, the file now has ${bound}.`;
    return { field, value, bound, message };
  });
  return new ProblemError('stale', error.message, problems);
}
