/** Saves changed figures of a bath: in the maker's own file, which the first change makes of the shipped one. */

import { dirname, join } from 'node:path';
import type { Bath } from '../../chemistry/model.ts';
import { bathFile, judgeBath } from '../libraries.ts';
import { fileProblem, SettingsError } from '../problems.ts';
import { readTomlFile } from '../toml.ts';
import { editFile, hashOf, readEditable, saveSettings } from './save.ts';
import type { EditRequest, SettingsOptions } from './save.ts';

/** A bath's file as it is to be edited. */
export interface EditableBath {
  readonly file: string;
  readonly target: string;
  readonly hash: string;
  readonly data: unknown;
}

/** Reads a bath for editing. Throws a SettingsError where there is none of that name. */
export function readEditableBath(options: SettingsOptions, name: string): EditableBath {
  const env = options.env ?? process.env;
  const settings = readEditable(options);
  const file = bathFile(name, env, settings.file);
  if (file === null) {
    throw new SettingsError([fileProblem('baths', `There is no bath "${name}".`)]);
  }
  const { text, value } = readTomlFile(file);
  const target = join(dirname(settings.target), 'baths', `${name}.toml`);
  return { file, target, hash: hashOf(text), data: value };
}

/** Makes the changes in the maker's own file of this bath; throws as `saveSettings`. */
export function saveBath(
  options: SettingsOptions,
  name: string,
  request: EditRequest,
): { readonly file: string; readonly hash: string; readonly before: Bath; readonly after: Bath } {
  const place = readEditableBath(options, name);
  const saved = editFile(place, request, (source) => judgeBath(name, source));
  const settings = readEditable(options);
  // Baths are looked for beside the settings: so there have to be settings of the maker's own.
  if (settings.file !== settings.target && settings.source === 'shipped') {
    saveSettings(options, { hash: settings.hash, changes: [] });
  }
  return saved;
}
