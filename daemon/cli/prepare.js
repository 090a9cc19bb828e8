/**
 * What npm runs as `prepare`: builds the program where the tools for it are installed, and does no
 * harm where they are not, as in `npm ci --omit=dev`.
 */

import { spawnSync } from 'child_process';
import { existsSync } from 'fs';
import { dirname, join } from 'path';
import { fileURLToPath } from 'url';

/** True when the version is one of those in `engines`, such as "^20.19.0 || ^22.12.0". */
export function fits(version, engines) {
  const have = version.split('.').map(Number);
  return engines.split('||').some(function (range) {
    const need = range.trim().replace(/^\^/, '').split('.').map(Number);
    if (have[0] !== need[0]) return false;
    return have[1] > need[1] || (have[1] === need[1] && have[2] >= need[2]);
  });
}

/** True in a clone with the development tools installed. */
export function canBuild(root) {
  return ['tsc', 'vite'].every(function (tool) {
    const place = join(root, 'node_modules', '.bin', tool);
    return existsSync(place) || existsSync(place + '.cmd');
  });
}

/** Runs `npm run build`; resolves to its exit code. Its words go to standard error. */
export function build(root) {
  // Within npm the very npm that runs is used, so that no other one has to be on the path.
  const npm = process.env.npm_execpath;
  const ours = npm !== undefined && /npm-cli\.c?js$/.test(npm);
  const command = ours ? process.execPath : 'npm';
  const args = (ours ? [npm] : []).concat(['run', 'build']);
  const done = spawnSync(command, args, {
    cwd: root,
    stdio: ['ignore', 2, 2],
    shell: !ours && process.platform === 'win32',
  });
  return done.status === null ? 1 : done.status;
}

function prepare() {
  const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
  if (canBuild(root)) {
    process.exitCode = build(root);
  } else if (!existsSync(join(root, 'dist', 'daemon', 'cli', 'main.js'))) {
    process.stderr.write(
      'Nightbath is installed but not built: the tools for that were left out. Run npm ci without ' +
        '--omit=dev once, or copy dist/ here from where it was built.\n',
    );
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) prepare();
