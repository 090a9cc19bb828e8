/** Throw-away folders, child processes that never outlive us, and a look at what processes hold. */

import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, statfsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../..', import.meta.url));
export { wait };

const children = new Set();
const folders = new Set();
const tmpfsMagic = 0x01021994;

process.once('exit', () => {
  for (const child of children) child.kill('SIGKILL');
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** Ends what was started, in order where it goes in time, and then this process. */
export async function leave(code) {
  await Promise.all([...children].map((child) => end(child)));
  process.exit(code);
}

// Killed by a signal, a process would leave its children and folders behind.
for (const signal of ['SIGINT', 'SIGTERM']) process.once(signal, () => void leave(1));

/** A folder that is gone when this process ends. */
export function scratchFolder() {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-bench-'));
  folders.add(folder);
  return folder;
}

/** Where a folder lies in memory, syncing it costs nothing and proves nothing. */
export function liesInMemory(folder) {
  return statfsSync(folder).type === tmpfsMagic;
}

/** Starts a process that ends when this one does. */
export function start(program, args, options = {}) {
  const child = spawn(program, args, { stdio: ['ignore', 'pipe', 'inherit'], ...options });
  children.add(child);
  child.once('exit', () => children.delete(child));
  return child;
}

/** Ends a process that `start` started, by force when it has not gone in time. */
export async function end(child, signal = 'SIGTERM', withinMs = 15_000) {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = new Promise((resolve) => {
    child.once('exit', resolve);
  });
  child.kill(signal);
  const timer = setTimeout(() => child.kill('SIGKILL'), withinMs);
  await gone;
  clearTimeout(timer);
}

/** Waits for a condition; the error says what was waited for. */
export async function until(what, look, withinMs = 15_000) {
  const endMs = performance.now() + withinMs;
  for (;;) {
    const found = await look();
    if (found) return found;
    if (performance.now() > endMs) throw new Error(`Waited ${withinMs} ms in vain: ${what}.`);
    await wait(10);
  }
}

export function isThere(program) {
  const places = (process.env.PATH ?? '').split(':').filter(Boolean);
  return places.some((folder) => existsSync(join(folder, program)));
}

/** Resident memory of a process, MB of 1024 x 1024 bytes; Linux only. */
export function residentMb(pid) {
  const status = readFileSync(`/proc/${pid}/status`, 'utf8');
  const kilobytes = /^VmRSS:\s+(\d+) kB$/m.exec(status)?.[1];
  if (kilobytes === undefined) throw new Error(`Process ${pid} has no resident memory.`);
  return Number(kilobytes) / 1024;
}

export function childrenOf(pid) {
  const text = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8');
  return text.trim().split(/\s+/).filter(Boolean).map(Number);
}
