/** Changed settings: who changed what goes on record, what waits holds back a run, and nothing is taken over under one. */

import { isFinal } from '../run/state.ts';
import { loadSettings, readEditable, SettingsError } from '../settings/door.ts';
import type { Settings } from '../settings/model.ts';
import type { CommandAnswer } from '../wire/command.ts';
import { refusal, type Refusal } from './refusal.ts';
import type { Tank } from './tank.ts';

export interface SettingsDeskParts {
  readonly tanks: ReadonlyMap<string, Tank>;
  /** The file that this process was started with. */
  readonly file: string;
  readonly env: NodeJS.ProcessEnv;
  /** Asks the sentinel to end this bench in order and to start it anew. */
  readonly startAnew: () => void;
  /** The sentinel has ended this process by then, or does not mean to, ms; left out, ten seconds. */
  readonly endsWithinMs?: number;
}

const endsWithinMs = 10_000;

/** Which supply is meant, by the id of its tank: as text, to be compared. */
type Lines = ReadonlyMap<string, string>;

function linesOf({ tanks }: Settings): Lines {
  return new Map(
    tanks.map(({ id, rectifier: { link, dialect, expectIdentity } }) => [
      id,
      JSON.stringify([link, dialect, expectIdentity]),
    ]),
  );
}

export class SettingsDesk {
  readonly #parts: SettingsDeskParts;
  /** The lines as they were in the file when this process began; null where it could not be read. */
  readonly #began: Lines | null;
  #leaving = false;
  #patience: NodeJS.Timeout | undefined;

  constructor(parts: SettingsDeskParts) {
    this.#parts = parts;
    this.#began = this.#lines();
  }

  /** True once the settings are being taken over: nothing is armed or switched on any more. */
  get leaving(): boolean {
    return this.#leaving;
  }

  /** Who changed what, in the log of the bench and in the events of the runs under way. */
  note(message: string): CommandAnswer {
    const [first] = this.#parts.tanks.values();
    for (const tank of this.#parts.tanks.values()) {
      const running = tank.run !== null && !isFinal(tank.run.state.lifecycle);
      if (!running && tank !== first) continue;
      const event = { atMs: tank.clock.nowMs(), code: 'settings', message };
      tank.journal.event(running ? tank.run : null, event);
    }
    return { ok: true };
  }

  /**
   * A run is not begun on a line that the next start would leave: after a crash its OFF would be sent to
   * another supply, and read back from that one. Null where nothing is in the way.
   */
  whyLineWaits({ id, settings: { name } }: Tank): Refusal | null {
    const now = this.#lines();
    if (this.#began === null || now === null || this.#began.get(id) === now.get(id)) return null;
    return refusal(
      'refused',
      `The line to the supply of ${name} was changed in the settings, and the change is not in use yet. ` +
        'Use the changed settings first (Setup, "Use them now"), or change the line back.',
    );
  }

  /** Settings that cannot be used are taken by no start: what waits is then nothing. */
  #lines(): Lines | null {
    const { file, env } = this.#parts;
    try {
      const { file: configPath } = readEditable({ configPath: file, env });
      return linesOf(loadSettings({ configPath, env }).settings);
    } catch (error) {
      if (error instanceof SettingsError) return null;
      throw error;
    }
  }

  /** Starts the bench anew on the settings as they are in the file now. */
  take(by: string): CommandAnswer {
    for (const tank of this.#parts.tanks.values()) {
      const hindrance = hindranceOf(tank);
      if (hindrance !== null) return hindrance;
    }
    const { file, env } = this.#parts;
    try {
      const { file: next } = readEditable({ configPath: file, env });
      loadSettings({ configPath: next, env });
    } catch (error) {
      if (!(error instanceof SettingsError)) throw error;
      return refusal(
        'invalid',
        `These settings cannot be used. ${error.message}`,
        error.problems.map(({ field, value, bound, message }) => ({
          field,
          value,
          bound,
          message,
        })),
      );
    }
    this.note(`The settings were taken over by ${by}.`);
    this.#leave();
    return {
      ok: true,
      message: 'Nightbath starts anew on the new settings. It takes some seconds.',
    };
  }

  /** The sentinel does not end this process while it holds a line: then the bench can be used again. */
  #leave(): void {
    this.#leaving = true;
    this.#parts.startAnew();
    clearTimeout(this.#patience);
    this.#patience = setTimeout(() => {
      this.#leaving = false;
      this.note(
        'The settings were not taken over: an output may still be on. Take them over again.',
      );
    }, this.#parts.endsWithinMs ?? endsWithinMs).unref();
  }
}

/** A run keeps the settings it began with, and its supply is switched off by them. */
function hindranceOf({ run, settings: { name }, awaitsOff }: Tank): Refusal | null {
  if (run !== null && !isFinal(run.state.lifecycle)) {
    return refusal(
      'refused',
      `A run is on ${name}. It keeps the settings it began with; take the new ones over when it has ended.`,
    );
  }
  if (!awaitsOff) return null;
  return refusal(
    'refused',
    `The output of ${name} is not read back as off yet. Take the new settings over when it is; where its ` +
      'supply cannot answer any more, switch it off by hand, end Nightbath and start it again.',
  );
}
