/** Baths and dialects: data files shipped with the package, and the maker's own beside bench.toml. */

import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { bathProblems } from '../chemistry/baths.ts';
import type { Bath } from '../chemistry/model.ts';
import { bathSchema } from '../wire/plan.ts';
import { findSettingsFile } from './find.ts';
import { lineOfKey } from './lines.ts';
import { packageRoot } from './places.ts';
import { didYouMean, fileProblem, pathOfKey, SettingsError } from './problems.ts';
import { problemsFromIssues, readTomlFile, wrongValue } from './toml.ts';
import type { TomlFile } from './toml.ts';

type Environment = NodeJS.ProcessEnv;

/** Files of one kind by their name without the ending; the maker's own stand before the shipped. */
function dataFiles(
  kind: 'baths' | 'dialects',
  env: Environment,
  settingsFile?: string,
): ReadonlyMap<string, string> {
  const own = dirname(settingsFile ?? findSettingsFile({ env }).file);
  const files = new Map<string, string>();
  for (const folder of new Set([join(packageRoot(), 'config', kind), join(own, kind)])) {
    for (const name of tomlNames(folder)) files.set(name, join(folder, `${name}.toml`));
  }
  return new Map([...files].toSorted(([left], [right]) => left.localeCompare(right)));
}

function tomlNames(folder: string): string[] {
  try {
    return readdirSync(folder)
      .filter((name) => name.endsWith('.toml') && !name.startsWith('.'))
      .map((name) => name.slice(0, -'.toml'.length));
  } catch {
    return [];
  }
}

/**
 * Every bath of config/baths and of the baths/ folder beside the maker's settings, whose files win
 * over shipped ones of the same name. Throws a SettingsError for a file that is not a sound bath.
 */
export function loadBaths(env: Environment = process.env, settingsFile?: string): readonly Bath[] {
  return [...dataFiles('baths', env, settingsFile)].map(([name, file]) => readBath(name, file));
}

const bathKeys: Readonly<Record<string, readonly string[]>> = {
  '': Object.keys(bathSchema.shape),
  window: Object.keys(bathSchema.shape.window.shape),
  efficiency: Object.keys(bathSchema.shape.efficiency.shape),
  temperature: Object.keys(bathSchema.shape.temperature.shape),
  conductivity: Object.keys(bathSchema.shape.conductivity.shape),
  loading: Object.keys(bathSchema.shape.loading.shape),
};

function readBath(name: string, file: string): Bath {
  return judgeBath(name, readTomlFile(file));
}

/** The file that a bath of this name is read from; null where there is none. */
export function bathFile(name: string, env: Environment, settingsFile: string): string | null {
  return dataFiles('baths', env, settingsFile).get(name) ?? null;
}

/** The bath that a text of its file holds. Throws a SettingsError for one that is not sound. */
export function judgeBath(name: string, source: TomlFile): Bath {
  const { file } = source;
  const result = bathSchema.safeParse(source.value);
  if (!result.success) {
    throw new SettingsError(problemsFromIssues(source, result.error.issues, bathKeys));
  }
  const bath: Bath = result.data;
  if (bath.id !== name) {
    throw new SettingsError([wrongValue(source, ['id'], `"${name}", like the name of its file`)]);
  }
  const problems = bathProblems(bath).map((problem) => ({
    ...problem,
    file,
    line: lineOfKey(source.text, pathOfKey(problem.field)),
  }));
  if (problems.length > 0) throw new SettingsError(problems);
  return bath;
}

/** Names of all dialects that can be loaded, sorted. */
export function dialectNames(
  env: Environment = process.env,
  settingsFile?: string,
): readonly string[] {
  return [...dataFiles('dialects', env, settingsFile).keys()];
}

/** The content of a dialect file as parsed TOML; the driver judges it. Throws a SettingsError. */
export function loadDialect(
  name: string,
  env: Environment = process.env,
  settingsFile?: string,
): unknown {
  const files = dataFiles('dialects', env, settingsFile);
  const file = files.get(name);
  if (file === undefined) {
    const known = [...files.keys()];
    const message = `There is no dialect "${name}".${didYouMean(name, known)} Known: ${known.join(', ')}.`;
    throw new SettingsError([fileProblem('dialects', message)]);
  }
  return readTomlFile(file).value;
}
