/** The whole daemon as `nightbath serve` runs it, on the shipped simulated bench, and bare Node beside. */

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { childrenOf, end, root, start } from './workshop.js';

const piped = ['ignore', 'pipe', 'pipe'];
const command = join(root, 'daemon/cli/nightbath.js');

/** Resolves at the first output that matches; the error holds what was said until then. */
function said(child, pattern) {
  return new Promise((resolve, reject) => {
    let output = '';
    const hear = (chunk) => {
      output += chunk.toString();
      const found = pattern.exec(output);
      if (found !== null) resolve(found[0]);
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.once('exit', () => reject(new Error(`It ended before it was up: ${output}`)));
  });
}

/** Starts the daemon and resolves once it says where it listens. */
export async function startDaemon(folder) {
  const config = join(folder, 'bench.toml');
  const shipped = readFileSync(join(root, 'config/bench.toml'), 'utf8');
  writeFileSync(config, shipped.replace(/^port = .*$/m, 'port = 0'));
  const env = { ...process.env, XDG_STATE_HOME: folder, XDG_CONFIG_HOME: folder };
  const startMs = performance.now();
  const child = start(process.execPath, [command, 'serve', '--config', config], {
    env,
    stdio: piped,
  });
  const url = await said(child, /http:\/\/\S+/);
  const startedInMs = performance.now() - startMs;
  return { url, startedInMs, pid: child.pid, env, config, stop: () => end(child) };
}

/** The sentinel and its two children by name. */
export function processesOf({ pid }) {
  const found = { sentinel: pid };
  for (const child of childrenOf(pid)) {
    const line = readFileSync(`/proc/${child}/cmdline`, 'utf8');
    for (const name of ['control', 'web']) {
      if (line.includes(`${name}/main.js`)) found[name] = child;
    }
  }
  if (found.control === undefined || found.web === undefined) {
    throw new Error(`Not all processes are there: ${JSON.stringify(found)}.`);
  }
  return found;
}

/** A Node that does nothing; resolves once it is up. */
export async function startBareNode() {
  const startMs = performance.now();
  const idle = 'setInterval(() => {}, 1e9); process.stdout.write("up");';
  const child = start(process.execPath, ['-e', idle], { stdio: piped });
  await said(child, /up/);
  const startedInMs = performance.now() - startMs;
  return { startedInMs, pid: child.pid, stop: () => end(child) };
}
