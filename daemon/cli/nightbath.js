#!/usr/bin/env node
/**
 * The `nightbath` command. Plain JavaScript that old versions of Node can parse, so that they can be
 * told what is missing; everything else is in the built program.
 */

import { existsSync, readFileSync, readdirSync, statSync, utimesSync } from 'fs';
import { dirname, join } from 'path';
import { fileURLToPath, pathToFileURL } from 'url';
import { build, canBuild, fits } from './prepare.js';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const program = join(root, 'dist', 'daemon', 'cli', 'main.js');
const buildNote = join(root, 'dist', 'daemon.tsbuildinfo');

function stop(sentence) {
  process.stderr.write(sentence + '\n');
  process.exit(1);
}

function checkNode() {
  const engines = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')).engines.node;
  if (fits(process.versions.node, engines)) return;
  const names = engines.split('||').map(function (range) {
    return range.trim().replace(/^\^/, '').replace(/\.0$/, '');
  });
  stop(
    'Nightbath does not run on Node ' +
      process.versions.node +
      '. It needs one of these, or a later one of the same line: ' +
      names.join(', ') +
      '. 24 is the best choice: https://nodejs.org',
  );
}

function newestUnder(folder) {
  let newest = 0;
  readdirSync(folder).forEach(function (name) {
    const path = join(folder, name);
    const about = statSync(path);
    if (about.isDirectory()) newest = Math.max(newest, newestUnder(path));
    else if (name.endsWith('.ts')) newest = Math.max(newest, about.mtimeMs);
  });
  return newest;
}

/** When dist/ was built last; 0 when it was not. */
function builtAtMs() {
  return existsSync(buildNote) ? statSync(buildNote).mtimeMs : 0;
}

function buildNow(why) {
  process.stderr.write(why + '\n');
  const code = build(root);
  if (code !== 0 || !existsSync(program)) stop('The build failed; see above. Try: npm ci');
  // A compiler that found nothing to do leaves its note as it was.
  const now = new Date();
  if (existsSync(buildNote)) utimesSync(buildNote, now, now);
}

function checkBuild() {
  if (!existsSync(program)) {
    if (!canBuild(root)) {
      stop(
        'The program is not built, and the tools to build it are not installed. ' +
          'In a clone run: npm ci',
      );
    }
    buildNow('The program is not built yet; this happens once.');
  }
  // Only a clone holds sources; an installed package has nothing to compare.
  if (process.argv[2] !== 'serve' || !existsSync(join(root, 'daemon', 'tsconfig.json'))) return;
  const newest = Math.max(
    ...['daemon', 'drivers', 'dashboard'].map((name) => newestUnder(join(root, name))),
  );
  if (newest <= builtAtMs()) return;
  if (canBuild(root)) buildNow('Sources are newer than the built program; building it.');
  else
    process.stderr.write('Sources are newer than the built program. To build it: npm run build\n');
}

const rebuild =
  'The database module better-sqlite3 has no binary for this Node. npm may have been told to leave ' +
  'install scripts out, or Node was changed since.\n' +
  '  In a clone or a project:  npm install-scripts approve better-sqlite3\n' +
  '                            npm rebuild better-sqlite3\n' +
  '  With npx:                 npx --allow-scripts=better-sqlite3 nightbath';

/** The folder of the database module, looked for as Node would; null when it is nowhere. */
function databaseModule() {
  for (let folder = root; ; folder = dirname(folder)) {
    const found = join(folder, 'node_modules', 'better-sqlite3');
    if (existsSync(join(found, 'package.json'))) return found;
    if (folder === dirname(folder)) return null;
  }
}

/** The children would fail one after the other; better to say it once, before they start. */
function checkDatabaseModule() {
  const command = process.argv[2];
  if (command !== 'serve' && command !== 'export') return;
  if (process.argv.indexOf('--help') >= 0 || process.argv.indexOf('-h') >= 0) return;
  const found = databaseModule();
  if (found === null) stop('The module better-sqlite3 is not installed. Run: npm ci');
  const places = [
    join(found, 'build', 'Release', 'better_sqlite3.node'),
    join(found, 'build', 'better_sqlite3.node'),
    join(found, 'build', 'Debug', 'better_sqlite3.node'),
    join(found, 'prebuilds'),
  ];
  if (!places.some(existsSync)) stop(rebuild);
}

function isMissingBinding(error) {
  const message = String(error && error.message);
  return /Could not locate the bindings file|NODE_MODULE_VERSION/.test(message);
}

function run() {
  checkNode();
  checkBuild();
  checkDatabaseModule();
  import(pathToFileURL(program).href)
    .then(function (built) {
      return built.runCommandLine(process.argv.slice(2));
    })
    .then(function (code) {
      process.exitCode = code;
      // Whatever is still open then is of no use to anybody.
      setTimeout(function () {
        process.exit(code);
      }, 500).unref();
    })
    .catch(function (error) {
      if (isMissingBinding(error)) stop(rebuild);
      stop(String((error && error.stack) || error));
    });
}

run();
