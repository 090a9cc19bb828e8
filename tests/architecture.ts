/** Reads the imports of a source file and judges them by the table of houses; used by its own test. */

import { dirname, join, normalize } from 'node:path/posix';

export interface Violation {
  readonly file: string;
  readonly what: string;
}

type Houses = readonly string[];

interface Zone {
  /** Zones of which any file may be imported. */
  readonly freely: Houses;
  /** Zones that may be entered through their door.ts, and no other file. */
  readonly throughDoors: Houses;
  /** Single files of other zones. */
  readonly files: readonly string[];
  readonly packages: readonly string[];
  readonly nodeBuiltIns: boolean;
}

const pure = ['daemon/chemistry', 'daemon/piece', 'daemon/run'];
const sharedData = [...pure, 'daemon/wire'];
const settingsModel = 'daemon/settings/model.ts';
const driverFaces = ['drivers/contract.ts', 'drivers/registry.ts'];

function pureZone(...freely: string[]): Zone {
  return { freely, throughDoors: [], files: [], packages: [], nodeBuiltIns: false };
}

function house(
  packages: readonly string[],
  doors: readonly string[],
  files: readonly string[] = [],
) {
  const throughDoors = doors.map((door) => `daemon/${door}`);
  const zone: Zone = {
    freely: sharedData,
    throughDoors,
    files: [settingsModel, ...files],
    packages,
    nodeBuiltIns: true,
  };
  return zone;
}

/** Who may import what; a file always may import its own zone. */
export const zones: Readonly<Record<string, Zone>> = {
  'daemon/chemistry': pureZone(),
  'daemon/piece': pureZone('daemon/chemistry'),
  'daemon/run': pureZone('daemon/chemistry', 'daemon/piece'),
  'daemon/wire': { ...pureZone(...pure), packages: ['zod/mini'] },
  'daemon/control': house(
    ['pino', 'zod', 'zod/mini'],
    ['settings', 'store', 'alerts', 'sentinel'],
    driverFaces,
  ),
  'daemon/store': house(['better-sqlite3', 'zod', 'zod/mini'], ['settings']),
  'daemon/alerts': house(['nodemailer', 'zod', 'zod/mini'], ['settings', 'store']),
  'daemon/sentinel': house(['zod/mini'], ['settings'], driverFaces),
  'daemon/web': house(
    [
      '@hono/node-server',
      '@hono/node-server/serve-static',
      'fflate',
      'hono',
      'hono/*',
      'pino',
      'ws',
      'zod',
      'zod/mini',
    ],
    ['settings', 'store', 'control'],
  ),
  'daemon/settings': house(['smol-toml', 'zod', 'zod/mini'], []),
  'daemon/cli': house(
    ['zod', 'zod/mini'],
    ['settings', 'store', 'control', 'sentinel', 'alerts'],
    [
      'daemon/main.ts',
      // Kept out of the door of control, by which the page would load the drivers.
      'daemon/control/bring-up.ts',
      ...driverFaces,
      'drivers/simulated/rectifier.ts',
    ],
  ),
  'daemon/main.ts': house(['zod/mini'], ['settings', 'sentinel', 'alerts']),
  drivers: {
    ...pureZone(),
    packages: ['serialport', '@serialport/parser-readline', 'zod', 'zod/mini'],
    nodeBuiltIns: true,
  },
  dashboard: {
    ...pureZone(...sharedData),
    // `#words` are its own words in the language that it is built in.
    packages: ['lit', 'lit/*', 'uplot', 'uplot/*', '#words/*'],
  },
  tests: {
    freely: ['daemon', 'drivers', 'dashboard', 'dist'],
    throughDoors: [],
    files: [],
    packages: ['*'],
    nodeBuiltIns: true,
  },
};

/**
 * Tool settings that are read by tools only, and the two scripts that even an old Node, which knows
 * no `node:` names, must be able to read.
 */
const toolFiles: Readonly<Record<string, readonly string[]>> = {
  'daemon/cli/nightbath.js': ['fs', 'path', 'url'],
  'daemon/cli/prepare.js': ['child_process', 'fs', 'path', 'url'],
  'dashboard/build-language.ts': ['vite'],
  'dashboard/vite.config.ts': ['vite'],
};

/** Where code is loaded by a path known only then: a maker's own driver, and the built program. */
const unknownImportsIn = ['drivers/registry.ts', 'daemon/cli/nightbath.js'];

/** The zone of a path, or null for a place that nobody has given to a house. */
export function zoneOf(path: string): string | null {
  const known = Object.keys(zones).find((zone) => path === zone || path.startsWith(`${zone}/`));
  return known ?? null;
}

export interface CodeImport {
  /** Null where the specifier is computed. */
  readonly specifier: string | null;
}

interface Scan {
  /** Code without comments; each text literal is `"n"`, an index into `texts`. */
  readonly code: string;
  readonly texts: readonly string[];
}

const beforeRegex = /(?:[=(,:[!&|?{};+\-*%<>~^]|\breturn|\btypeof|\bcase|=>)\s*$|^\s*$/;

/** Splits source into code and text literals, so that words inside texts and comments do not count. */
function scan(source: string): Scan {
  const texts: string[] = [];
  let code = '';
  let at = 0;
  /** Depths of braces at which a template's `${` was entered. */
  const templates: number[] = [];
  let depth = 0;
  const takeText = (end: string) => {
    let text = '';
    while (at < source.length && source[at] !== end) {
      if (end === '`' && source.startsWith('${', at)) {
        templates.push(depth);
        depth += 1;
        at += 2;
        code += `"${texts.push(text) - 1}"+(`;
        return;
      }
      if (source[at] === '\\') at += 1;
      text += source[at] ?? '';
      at += 1;
    }
    at += 1;
    code += `"${texts.push(text) - 1}"`;
  };
  while (at < source.length) {
    const char = source[at] ?? '';
    const rest = source.slice(at, at + 2);
    if (rest === '//') {
      while (at < source.length && source[at] !== '\n') at += 1;
    } else if (rest === '/*') {
      const end = source.indexOf('*/', at + 2);
      at = end < 0 ? source.length : end + 2;
      code += ' ';
    } else if (char === '/' && beforeRegex.test(code.slice(-12))) {
      at = endOfRegex(source, at);
      code += '"regex"';
    } else if (char === "'" || char === '"' || char === '`') {
      at += 1;
      takeText(char);
    } else if (char === '}' && templates.at(-1) === depth - 1) {
      templates.pop();
      depth -= 1;
      at += 1;
      code += ')+';
      takeText('`');
    } else {
      if (char === '{') depth += 1;
      if (char === '}') depth -= 1;
      code += char;
      at += 1;
    }
  }
  return { code, texts };
}

function endOfRegex(source: string, start: number): number {
  let inClass = false;
  for (let at = start + 1; at < source.length; at += 1) {
    const char = source[at];
    if (char === '\\') at += 1;
    else if (char === '[') inClass = true;
    else if (char === ']') inClass = false;
    else if (char === '\n') return at;
    else if (char === '/' && !inClass) return at + 1;
  }
  return source.length;
}

/** Static and type imports, re-exports, bare imports, dynamic imports and require. */
export function importsOf(source: string): readonly CodeImport[] {
  const { code, texts } = scan(source);
  const found: CodeImport[] = [];
  const named = (index: string | undefined) => {
    found.push({ specifier: texts[Number(index)] ?? null });
  };
  for (const match of code.matchAll(/\b(?:import|export)\b[\w\s{},*$]*?\bfrom\s*"(\d+)"/g)) {
    named(match[1]);
  }
  for (const match of code.matchAll(/\bimport\s*"(\d+)"/g)) named(match[1]);
  for (const match of code.matchAll(/\b(?:import|require)\s*\(\s*([^)]*)/g)) {
    const literal = /^"(\d+)"\s*,?\s*$/.exec(match[1] ?? '');
    if (literal === null) found.push({ specifier: null });
    else named(literal[1]);
  }
  return found;
}

function matches(specifier: string, patterns: readonly string[]): boolean {
  return patterns.some(
    (pattern) =>
      pattern === '*' ||
      pattern === specifier ||
      (pattern.endsWith('/*') && specifier.startsWith(pattern.slice(0, -1))),
  );
}

/** Why this file may not import this; null when it may. */
function refusal(file: string, specifier: string | null): string | null {
  const own = zoneOf(file);
  if (own === null) return 'stands in a place that no house owns';
  if (specifier === null) {
    if (own === 'tests' || unknownImportsIn.includes(file)) return null;
    return 'imports something that is only known when it runs';
  }
  const zone = zones[own];
  if (zone === undefined) return 'stands in a place that no house owns';
  if (!specifier.startsWith('.')) {
    if (specifier.startsWith('node:')) {
      const allowed = zone.nodeBuiltIns || toolFiles[file] !== undefined;
      return allowed ? null : `imports ${specifier}, and ${own} has no use of the system`;
    }
    const packages = [...zone.packages, ...(toolFiles[file] ?? [])];
    return matches(specifier, packages) ? null : `imports the package ${specifier}`;
  }
  const target = normalize(join(dirname(file), specifier));
  const other = zoneOf(target) ?? target.split('/')[0] ?? '';
  if (other === own || zone.files.includes(target)) return null;
  if (zone.freely.some((free) => target.startsWith(`${free}/`))) return null;
  if (zone.throughDoors.includes(other)) {
    return target === `${other}/door.ts` ? null : `reaches into ${other} past its door: ${target}`;
  }
  return `imports ${target}, which ${own} may not know`;
}

const impure =
  /\basync\b|\bawait\b|\bPromise\b|\bDate\b|\bperformance\b|\bMath\.random\b|\bcrypto\b|\bset(?:Timeout|Interval|Immediate)\b|\bprocess\b|\bconsole\b|\bfetch\b/;

/** What a file may not be, whatever it imports. */
export function untidiness(file: string, source: string): readonly string[] {
  const { code } = scan(source);
  const found: string[] = [];
  if (!/^(?:#![^\n]*\n)?(?:\/\*\*|\/\/ )/.test(source)) {
    found.push('does not open with a sentence on its job');
  }
  if (/\/index\.[jt]s$/.test(file)) found.push('is an index file');
  if (/\b(?:TODO|FIXME|XXX)\b/.test(source) && !file.startsWith('tests/architecture')) {
    found.push('holds a note of unfinished work');
  }
  const body = code.replaceAll(/\bexport\b[\w\s{},*$]*?\bfrom\s*"\d+";?/g, '').trim();
  if (body === '' && code.trim() !== '' && !file.endsWith('/door.ts')) found.push('is a barrel');
  const zone = zoneOf(file);
  if (zone !== null && pure.includes(zone)) {
    const word = impure.exec(code)?.[0];
    if (word !== undefined) found.push(`uses ${word}, and ${zone} is pure`);
  }
  return found;
}

/** Every violation in a set of files, given by their path from the root of the repository. */
export function judge(files: ReadonlyMap<string, string>): readonly Violation[] {
  return [...files].flatMap(([file, source]) => {
    const place = zoneOf(file) === null ? ['stands in a place that no house owns'] : [];
    const refusals = importsOf(source).map(({ specifier }) => refusal(file, specifier));
    const what = [...place, ...refusals, ...untidiness(file, source)];
    return [...new Set(what)].filter((one) => one !== null).map((one) => ({ file, what: one }));
  });
}
