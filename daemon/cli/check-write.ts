/** Writes what a bring-up found into the maker's own settings: the supply of one tank, and nothing else. */

import {
  EditRefused,
  readEditable,
  saveSettings,
  SettingsConflict,
  SettingsError,
  type TomlChange,
} from '../settings/door.ts';
import type { AfterMains, FoundSupply, Step } from './check-report.ts';
import { UsageError } from './command.ts';

/** The tank whose supply is to be written, as its file stood when the bring-up began. */
export interface WriteTarget {
  readonly tankId: string;
  readonly options: { readonly configPath: string; readonly env: NodeJS.ProcessEnv };
  readonly hash: string;
  /** Its place in the list of tanks. */
  readonly index: number;
  /** It may run faster than the clock, which only a simulated supply can. */
  readonly hurried: boolean;
  /** Its supply as the TOML has it. */
  readonly rectifier: unknown;
}

export type Written =
  | {
      readonly ok: true;
      readonly file: string;
      readonly previous: string | null;
      /** Keys that held what was measured on the supply before this one, and are gone. */
      readonly removed: readonly string[];
    }
  | { readonly ok: false; readonly reason: string };

function tanksOf(data: unknown): readonly unknown[] {
  const tanks = typeof data === 'object' && data !== null && 'tanks' in data ? data.tanks : [];
  return Array.isArray(tanks) ? tanks : [];
}

function valueOf(table: unknown, key: string): unknown {
  if (typeof table !== 'object' || table === null) return undefined;
  return Object.entries(table).find(([name]) => name === key)?.[1];
}

/** Looked up before anything is asked or switched: a name that is not there ends the bring-up at once. */
export function writeTarget(
  tankId: string,
  configPath: string,
  env: NodeJS.ProcessEnv,
): WriteTarget {
  const options = { configPath, env };
  const { hash, data } = readEditable(options);
  const tanks = tanksOf(data);
  const index = tanks.findIndex((tank) => valueOf(tank, 'id') === tankId);
  if (index < 0) {
    const known = tanks.map((tank) => `"${String(valueOf(tank, 'id'))}"`).join(', ');
    throw new UsageError(`--write is "${tankId}"; ${configPath} has these tanks: ${known}.`);
  }
  const hurried = valueOf(tanks[index], 'timeScale') !== undefined;
  return {
    tankId,
    options,
    hash,
    index,
    hurried,
    rectifier: valueOf(tanks[index], 'rectifier'),
  };
}

/** What was measured on one supply says nothing of another. */
const measuredKeys = ['ammeterFactor', 'meterUncertainty'];

function staleKeys({ rectifier }: WriteTarget, supply: FoundSupply): readonly string[] {
  const link = valueOf(rectifier, 'link');
  const same =
    valueOf(rectifier, 'expectIdentity') === supply.expectIdentity &&
    Object.entries(supply.link).every(
      ([key, value]) => key === 'baudRate' || valueOf(link, key) === value,
    );
  return same ? [] : measuredKeys.filter((key) => valueOf(rectifier, key) !== undefined);
}

function changesFor(
  { index, hurried }: WriteTarget,
  supply: FoundSupply,
  after: AfterMains,
  stale: readonly string[],
): readonly TomlChange[] {
  const tank = ['tanks', index] as const;
  const { link } = supply;
  const line =
    link.kind === 'serial' && link.baudRate === null ? { kind: link.kind, path: link.path } : link;
  const set = (path: readonly (string | number)[], value: unknown): TomlChange => ({
    kind: 'set',
    path: [...tank, ...path],
    value,
  });
  const gone = [...(hurried ? [['timeScale']] : []), ...stale.map((key) => ['rectifier', key])];
  return [
    ...gone.map((path): TomlChange => ({ kind: 'remove', path: [...tank, ...path] })),
    set(['maxAmps'], supply.maxAmps),
    set(['maxVolts'], supply.maxVolts),
    set(['rectifier', 'driver'], 'scpi'),
    set(['rectifier', 'dialect'], supply.dialect),
    set(['rectifier', 'expectIdentity'], supply.expectIdentity),
    set(['rectifier', 'afterMains'], after),
    set(['rectifier', 'link'], line),
  ];
}

/**
 * What the mains does to the output is written as it is; any other step that failed keeps the file as
 * it stands.
 */
export function writeSupply(
  target: WriteTarget,
  supply: FoundSupply,
  steps: readonly Step[],
  after: AfterMains,
): Written {
  const failed = steps.filter(({ id, state }) => state === 'failed' && id !== 'mains');
  if (failed.length > 0) {
    const names = failed.map(({ id }) => id).join(', ');
    return { ok: false, reason: `these steps failed: ${names}` };
  }
  const removed = staleKeys(target, supply);
  try {
    const { file, previous } = saveSettings(target.options, {
      hash: target.hash,
      changes: changesFor(target, supply, after, removed),
    });
    return { ok: true, file, previous, removed };
  } catch (error) {
    const known =
      error instanceof EditRefused ||
      error instanceof SettingsConflict ||
      error instanceof SettingsError;
    if (!known) throw error;
    return { ok: false, reason: error.message };
  }
}

/** One sentence about what was written, or was not. */
export function writtenSentence(written: Written, tankId: string): string {
  if (!written.ok) return `Nothing was written: ${written.reason}`;
  const { file, previous, removed } = written;
  const kept = previous === null ? '' : ` What stood there is kept as ${previous}.`;
  const gone =
    removed.length === 0
      ? ''
      : ` Taken out, as measured on the supply before: ${removed.join(', ')}. Compare the ammeter anew.`;
  return `Written to tank ${tankId} in ${file}.${kept}${gone}`;
}
