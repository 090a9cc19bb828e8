/** Edits of settings in place: what was asked for is in the data, and no other line has changed. */

import { readFileSync } from 'node:fs';
import * as fc from 'fast-check';
import { parse } from 'smol-toml';
import { describe, expect, it } from 'vitest';
import { EditRefused } from '../../daemon/settings/edit/changes.ts';
import type { TomlChange } from '../../daemon/settings/edit/changes.ts';
import { editToml } from '../../daemon/settings/edit/edit-text.ts';
import { below, pick, randomDocument } from './toml-documents.ts';
import type { Draw, Line, Path } from './toml-documents.ts';

const shipped = readFileSync(new URL('../../config/bench.toml', import.meta.url), 'utf8');

const set = (path: Path, value: unknown): TomlChange => ({ kind: 'set', path, value });
const add = (path: Path, value: unknown): TomlChange => ({ kind: 'add', path, value });
const remove = (path: Path): TomlChange => ({ kind: 'remove', path });

/** Lines of the second text that are not in the first, and of the first that are not in the second. */
function difference(before: string, after: string) {
  const left = before.split('\n');
  const right = after.split('\n');
  return {
    gone: left.filter((line) => !right.includes(line)),
    come: right.filter((line) => !left.includes(line)),
  };
}

function read(text: string): unknown {
  return parse(text, { integersAsBigInt: 'asNeeded' });
}

function isTable(value: unknown): value is Record<string, unknown> {
  return (
    typeof value === 'object' && value !== null && !Array.isArray(value) && !(value instanceof Date)
  );
}

/** A copy that may be changed. */
function copy(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(copy);
  if (!isTable(value)) return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, copy(one)]));
}

/** The same change made by plain assignment to a copy. */
function assigned(data: unknown, change: TomlChange): unknown {
  const root = copy(data);
  let node = root;
  for (const step of change.path.slice(0, -1)) node = stepInto(node, step, {});
  const last = change.path.at(-1) ?? '';
  if (change.kind === 'add') {
    const list = stepInto(node, last, []);
    if (Array.isArray(list)) list.push(copy(change.value));
  } else if (change.kind === 'set') {
    Reflect.set(Object(node), last, copy(change.value));
  } else if (Array.isArray(node)) node.splice(Number(last), 1);
  else Reflect.deleteProperty(Object(node), last);
  return root;
}

/** What a step leads to; made where it is not there. */
function stepInto(node: unknown, step: string | number, otherwise: unknown): unknown {
  const around: object = Object(node);
  if (!Object.hasOwn(around, step)) Reflect.set(around, step, otherwise);
  return Reflect.get(around, step);
}

/** Data as text in which two that say the same are the same: keys in order, dates as written. */
function plain(value: unknown): string {
  return JSON.stringify(value, (_, one: unknown) => {
    if (typeof one === 'bigint') return `big ${one}`;
    if (typeof one === 'number' && !Number.isFinite(one)) return String(one);
    if (!isTable(one)) return one;
    return Object.fromEntries(Object.entries(one).toSorted(([a], [b]) => (a < b ? -1 : 1)));
  });
}

function pathsOf(value: unknown, path: Path = []): Path[] {
  const inner = Array.isArray(value)
    ? value.flatMap((one, index) => pathsOf(one, [...path, index]))
    : isTable(value)
      ? Object.entries(value).flatMap(([key, one]) => pathsOf(one, [...path, key]))
      : [];
  return [path, ...inner];
}

function at(value: unknown, path: Path): unknown {
  return path.reduce<unknown>((node, step) => Reflect.get(Object(node), step), value);
}

function randomValue(g: Draw, depth = 0): unknown {
  switch (below(g, depth > 2 ? 5 : 9)) {
    case 0:
      return g(fc.integer);
    case 1:
      return g(fc.double, { noNaN: true });
    case 2:
      return g(fc.boolean);
    case 3:
      return g(fc.string, { unit: 'binary', maxLength: 12 });
    case 4:
      return pick(g, ["it's", 'two\nlines', '"""', "'''", 'a # b', '\u007f\u0000\r', 'é']);
    case 5:
      return Array.from({ length: below(g, 4) }, () => randomValue(g, depth + 1));
    case 6:
      return Array.from({ length: below(g, 3) }, () => randomTable(g, depth + 1));
    default:
      return randomTable(g, depth + 1);
  }
}

function randomTable(g: Draw, depth: number): Record<string, unknown> {
  const keys = ['a', 'b-1', 'key with blank', 'é', ''];
  return Object.fromEntries(
    Array.from({ length: below(g, 4) }, () => [pick(g, keys), randomValue(g, depth)]),
  );
}

function randomChange(g: Draw, data: unknown): TomlChange {
  const paths = pathsOf(data);
  const places = paths.slice(1);
  const tables = paths.filter((path) => isTable(at(data, path)));
  const lists = paths.filter((path) => Array.isArray(at(data, path)));
  const kind = below(g, 7);
  if (kind < 2 && places.length > 0) return set(pick(g, places), randomValue(g));
  if (kind < 4 && places.length > 0) return remove(pick(g, places));
  if (kind < 5 && lists.length > 0) {
    const list = pick(g, lists);
    const present = at(data, list);
    const tablesOnly = Array.isArray(present) && present.some(isTable);
    return add(list, tablesOnly ? randomTable(g, 0) : randomValue(g));
  }
  const around = pick(g, tables);
  if (kind < 6) return set([...around, 'new', 'inner'], randomValue(g));
  return set([...around, pick(g, ['new', 'new.dotted', 'new blank'])], randomValue(g));
}

function begins(path: Path, prefix: Path): boolean {
  return prefix.length <= path.length && prefix.every((step, index) => path[index] === step);
}

/** Whether a change may have to do with a line. */
function touched(line: Line, { kind, path }: TomlChange): boolean {
  if (line.kind === 'pair' && begins(path, line.owner)) return true;
  return kind !== 'add' && begins(line.owner, path);
}

/** The lines of `wanted` that are missing from `lines`, in order. */
function firstMissing(wanted: readonly string[], lines: readonly string[]): string | null {
  let from = 0;
  for (const line of wanted) {
    const found = lines.indexOf(line, from);
    if (found < 0) return line;
    from = found + 1;
  }
  return null;
}

describe('any document', () => {
  it('is sound TOML as it is drawn, so that the properties below speak of something', () => {
    let pairs = 0;
    fc.assert(
      fc.property(fc.gen(), (g) => {
        const { text, lines } = randomDocument(g);
        read(text);
        pairs += lines.filter(({ kind }) => kind === 'pair').length;
      }),
      { numRuns: 100 },
    );
    expect(pairs).toBeGreaterThan(150);
  });

  it(
    'says after a change what was asked for, every other line as it was',
    { timeout: 60_000 },
    () => {
      let changed = 0;
      fc.assert(
        fc.property(fc.gen(), (g) => {
          const { text, lineEnd, lines } = randomDocument(g);
          const data = read(text);
          const change = randomChange(g, data);
          let edited: string;
          try {
            edited = editToml(text, [change]);
          } catch (error) {
            if (!(error instanceof EditRefused)) throw error;
            // The only thing that a sound document may refuse.
            expect(error.message).toContain('so only a table can take its place');
            expect([change.kind, typeof change.path.at(-1)]).toEqual(['set', 'number']);
            expect(isTable(at(data, change.path))).toBe(true);
            return;
          }
          changed += 1;
          expect(plain(read(edited))).toBe(plain(assigned(data, change)));
          const untouched = lines.filter((line) => !touched(line, change)).map((line) => line.text);
          const after = edited.split(/\r?\n/);
          expect(
            firstMissing(untouched, after),
            JSON.stringify({ text, change, edited }),
          ).toBeNull();
          if (text.includes(lineEnd)) {
            expect(edited.replaceAll(lineEnd, '').includes('\n')).toBe(false);
          }
        }),
        { numRuns: 300 },
      );
      expect(changed).toBeGreaterThan(250);
    },
  );
});

describe('the shipped settings', () => {
  it('changes one value and no other line', () => {
    const after = editToml(shipped, [set(['tanks', 0, 'maxAmps'], 2.25)]);
    expect(difference(shipped, after)).toEqual({
      gone: ['maxAmps = 3.0'],
      come: ['maxAmps = 2.25'],
    });
    expect(editToml(after, [set(['tanks', 0, 'maxAmps'], 3)])).toBe(shipped);
  });

  it('writes nothing where nothing changes', () => {
    expect(editToml(shipped, [set(['tanks', 0, 'maxAmps'], 3)])).toBe(shipped);
    expect(editToml(shipped, [set([], parse(shipped))])).toBe(shipped);
  });

  it('keeps what stands behind a value, its quotation marks and its decimal point', () => {
    const text = 'a = \'x\'\t# why\nb = 2.0 # V\nc="y"\nd = 0x1F\n';
    const changes = [set(['a'], 'C:\\dev'), set(['b'], 3), set(['c'], "it's"), set(['d'], 32)];
    expect(editToml(text, changes)).toBe("a = 'C:\\dev'\t# why\nb = 3.0 # V\nc=\"it's\"\nd = 32\n");
    expect(editToml(text, [set(['a'], "it's")])).toContain('a = "it\'s"\t# why');
  });

  it('adds a tank after the last one, before the examples that follow', () => {
    const tank = {
      id: 'shelf',
      name: 'Tank under the shelf',
      maxAmps: 5,
      rectifier: { driver: 'scpi', link: { kind: 'tcp', host: '192.0.2.10', port: 5025 } },
      sensors: [{ id: 'bath', high: { value: 30, action: 'trip' } }],
    };
    const after = editToml(shipped, [add(['tanks'], tank)]);
    expect(difference(shipped, after).gone).toEqual([]);
    const at = after.indexOf('[[tanks]]\nid = "shelf"');
    expect(shipped.slice(0, at).trimEnd()).toBe(after.slice(0, at).trimEnd());
    expect(after.slice(at, after.indexOf('\n# -----', at))).toBe(
      [
        '[[tanks]]',
        'id = "shelf"',
        'name = "Tank under the shelf"',
        'maxAmps = 5',
        '',
        '[tanks.rectifier]',
        'driver = "scpi"',
        'link = { kind = "tcp", host = "192.0.2.10", port = 5025 }',
        '',
        '[[tanks.sensors]]',
        'id = "bath"',
        'high = { value = 30, action = "trip" }',
        '',
      ].join('\n'),
    );
  });

  it('adds and removes what has a header of its own', () => {
    const channel = { name: 'bell', kind: 'command', program: '/home/you/bin/ring' };
    const added = editToml(shipped, [add(['alerts', 'channels'], channel)]);
    expect(added).toContain('\n[[alerts.channels]]\nname = "bell"\nkind = "command"\n');
    const second = editToml(added, [add(['alerts', 'channels'], { ...channel, name: 'horn' })]);
    const gone = editToml(second, [remove(['alerts', 'channels', 0])]);
    expect(read(gone)).toEqual(
      read(editToml(shipped, [add(['alerts', 'channels'], { ...channel, name: 'horn' })])),
    );
    const none = editToml(gone, [remove(['alerts', 'channels', 0])]);
    expect(read(none)).toMatchObject({ alerts: { channels: [] } });
    const again = editToml(none, [add(['alerts', 'channels'], channel)]);
    expect(again).toContain('[[alerts.channels]]\nname = "bell"');
    expect(difference(shipped, again).gone).toEqual([]);
  });

  it('removes a tank with its comments, and leaves the comments around it', () => {
    const text = [
      'studio = "S"',
      '# the first tank',
      '[[tanks]] # by the window',
      'id = "one"',
      '# leads bear 5 A',
      'maxAmps = 5',
      '[tanks.rectifier]',
      'dialect = "d"',
      '# the second tank',
      '[[tanks]]',
      'id = "two"',
      '',
    ].join('\r\n');
    expect(editToml(text, [remove(['tanks', 0])])).toBe(
      ['studio = "S"', '# the first tank', '# the second tank', '[[tanks]]', 'id = "two"', ''].join(
        '\r\n',
      ),
    );
  });

  it('changes one entry of a list of several lines, and adds one in the same manner', () => {
    const text =
      'to = [\n  "a@studio.example", # me\n  "b@studio.example",\n  # and nobody else\n]\n';
    const after = editToml(text, [
      set(['to', 1], 'c@studio.example'),
      add(['to'], 'd@studio.example'),
    ]);
    expect(after).toBe(
      'to = [\n  "a@studio.example", # me\n  "c@studio.example",\n  "d@studio.example",\n  # and nobody else\n]\n',
    );
    expect(editToml(after, [remove(['to', 0])])).toBe(
      'to = [\n  "c@studio.example",\n  "d@studio.example",\n  # and nobody else\n]\n',
    );
  });

  it('refuses what is not there, what is no TOML, and what TOML cannot say', () => {
    const refusal = (text: string, change: TomlChange) => () => editToml(text, [change]);
    expect(refusal(shipped, remove(['tanks', 4]))).toThrow('There is no tanks[4] in this file.');
    expect(refusal(shipped, set(['tanks', 4, 'id'], 'x'))).toThrow('There is no tanks[4].id');
    expect(refusal(shipped, set(['studio', 'name'], 'x'))).toThrow('There is no studio.name');
    expect(refusal(shipped, add(['studio'], 'x'))).toThrow('studio is not a list.');
    expect(refusal('a = ', set(['a'], 1))).toThrow('The file is not TOML as it stands');
    expect(refusal('a = 1', set(['a'], null))).toThrow('TOML has no way to write null.');
    expect(refusal('a = 1', set(['a'], '\ud800'))).toThrow('half of a character');
  });
});
