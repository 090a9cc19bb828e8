/**
 * What `npm test` runs: sees to the tools that the tests need, builds, and runs every test. With
 * --quick only those that need neither a pseudo-terminal nor a browser, and it says so; with --tools
 * it sees to the tools and runs nothing.
 */

import { spawn, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const quick = process.argv.includes('--quick');
const toolsOnly = process.argv.includes('--tools');
const others = process.argv.slice(2).filter((one) => one !== '--quick' && one !== '--tools');

function say(text) {
  process.stdout.write(`${text}\n`);
}

function isThere(program) {
  const folders = (process.env.PATH ?? '').split(':');
  return folders.some((folder) => folder !== '' && existsSync(join(folder, program)));
}

/** Runs a program in the root of the repository, its output to ours; returns its exit code. */
function run(program, args, env = {}) {
  const done = spawnSync(program, args, {
    cwd: root,
    stdio: 'inherit',
    env: { ...process.env, ...env },
  });
  if (done.error) say(`${program} could not be run: ${done.error.message}`);
  return done.status ?? 1;
}

/** Debian packages by the program that is needed; any of the names will do. */
const tools = [
  { names: ['socat'], debianPackage: 'socat', why: 'pseudo-terminals, as real serial lines' },
  { names: ['strace'], debianPackage: 'strace', why: 'what is on disk when the power goes' },
  {
    names: ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'],
    debianPackage: 'chromium',
    why: 'a real browser',
  },
];

function missingTools() {
  const chosen = process.env.CHROMIUM_PATH;
  return tools.filter(({ names, debianPackage }) => {
    if (debianPackage === 'chromium' && chosen !== undefined && existsSync(chosen)) return false;
    return !names.some(isThere);
  });
}

function seeToTools() {
  const missing = missingTools();
  if (missing.length === 0) return;
  const packages = missing.map(({ debianPackage }) => debianPackage);
  for (const { debianPackage, why } of missing) say(`The tests need ${debianPackage}: ${why}.`);
  const isRoot = process.getuid?.() === 0;
  if (!existsSync('/etc/debian_version') || !isRoot || !isThere('apt-get')) {
    const sudo = isRoot ? '' : 'sudo ';
    say(
      `Install it and start again. On Debian and its kin:\n\n` +
        `    ${sudo}apt-get update && ${sudo}apt-get install --yes --no-install-recommends ${packages.join(' ')}\n\n` +
        'Without these: npm run test:quick, which leaves serial lines and the browser out.',
    );
    process.exit(1);
  }
  say(`Installing ${packages.join(' and ')} with apt-get, as this is Debian and we are root.`);
  const quiet = { DEBIAN_FRONTEND: 'noninteractive' };
  const install = ['install', '--yes', '--no-install-recommends', ...packages];
  const code = run('apt-get', ['update'], quiet) || run('apt-get', install, quiet);
  if (code !== 0 || missingTools().length > 0) {
    say('That did not work; see above. npm run test:quick runs the tests that need neither.');
    process.exit(1);
  }
}

const leftOut =
  'LEFT OUT: the tests on real serial lines (pseudo-terminals), of kills and hangs of real ' +
  'processes, and in a real browser. npm test runs everything.';

const vitest = [join(root, 'node_modules', 'vitest', 'vitest.mjs'), 'run'];
/** The tests need not build again what was built a moment ago, and nobody looks at their pictures. */
const env = { NIGHTBATH_PICTURES: 'no', ...process.env, NIGHTBATH_TESTS_BUILT: '1' };
const common = ['-c', 'tests/vitest.config.ts', ...others];

/** Runs projects, their output to ours; resolves with the exit code. */
function test(projects) {
  const args = [...vitest, ...common, ...projects.flatMap((name) => ['--project', name])];
  const child = spawn(process.execPath, args, { cwd: root, env, stdio: 'inherit' });
  return new Promise((resolve) => {
    child.once('close', (code) => resolve(code ?? 1));
  });
}

/** The simulated nights only reckon: they come last, with the whole computer, and disturb no clock. */
async function testAll() {
  const code = await test(['unit', 'process', 'browser']);
  const nightsCode = await test(['nights']);
  return code || nightsCode;
}

async function main() {
  if (quick) say(leftOut);
  else seeToTools();
  if (toolsOnly) return;
  const built = run('npm', ['run', '--silent', 'build']);
  if (built !== 0) {
    say('The build failed; no test was run.');
    process.exit(built);
  }
  // A choice of tests may leave a project empty-handed.
  const code = quick ? await test(['unit']) : await (others.length > 0 ? test([]) : testAll());
  if (quick) say(leftOut);
  process.exitCode = code;
}

await main();
