/** The fields of a line, to a supply or from a sensor, and what has to change where it becomes one of another kind. */

import type { SettingsChange } from '../../daemon/wire/settings.ts';
import type { Path } from './desk.ts';
import type { Field, SettingsForm } from './form.ts';
import { lineWords as say } from '#words/lines';

const keys = { serial: ['path', 'baudRate'], tcp: ['host', 'port'] } as const;

export type LineKind = keyof typeof keys;

function kindField(place: Path): Field {
  return { path: [...place, 'kind'], label: say.kind, choices: Object.entries(say.kinds) };
}

/** What kind of line the form is at; one that says nothing yet is a serial one. */
export function lineKind(form: SettingsForm, place: Path): LineKind {
  return form.value(kindField(place)) === 'tcp' ? 'tcp' : 'serial';
}

/** The fields of a line at a place of the form; `rateHelp` says what is meant where no rate is given. */
export function lineFields(kind: LineKind, place: Path, rateHelp: string): readonly Field[] {
  const own: readonly Field[] =
    kind === 'tcp'
      ? [
          { path: [...place, 'host'], label: say.host, help: say.hostHelp },
          { path: [...place, 'port'], label: say.port, kind: 'number' },
        ]
      : [
          { path: [...place, 'path'], label: say.path, help: say.pathHelp },
          { path: [...place, 'baudRate'], label: say.baud, kind: 'number', help: rateHelp },
        ];
  return [kindField(place), ...own];
}

/** What has to change for the line to be as it was typed; what only another kind of line has goes first. */
export function lineChanges(form: SettingsForm, place: Path): readonly SettingsChange[] {
  const kind = lineKind(form, place);
  const gone = keys[kind === 'tcp' ? 'serial' : 'tcp'].flatMap((key): SettingsChange[] => {
    const path = [...form.base, ...place, key];
    return form.desk.at(path) === undefined ? [] : [{ kind: 'remove', path }];
  });
  return [...gone, ...form.changes(lineFields(kind, place, ''))];
}
