/** Keeps this computer from going to sleep while an output may be on, where systemd can do that. */

import { spawn, spawnSync } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';

export interface Awake {
  readonly held: boolean;
  /** A part of a sentence; empty where it is held. */
  readonly reason: string;
}

const program = 'systemd-inhibit';
const options = [
  '--what=sleep:idle:handle-lid-switch',
  '--mode=block',
  '--who=Nightbath',
  '--why=A run is armed or current flows',
] as const;
/** The program that is kept running says a word once the lock is taken, and ends with its input. */
const keeper = ['/bin/sh', '-c', 'echo held; exec cat >/dev/null'] as const;
const answerWithinMs = 3_000;

function missing(error: unknown): string {
  const absent = error instanceof Error && 'code' in error && error.code === 'ENOENT';
  if (absent) return `${program} is not on this computer`;
  return error instanceof Error ? error.message : String(error);
}

function firstLine(text: string, otherwise: string): string {
  return text.trim().split('\n')[0] || otherwise;
}

/** Takes the lock for a moment, to tell beforehand whether it could be had. */
export function tryStayAwake(env: NodeJS.ProcessEnv): Awake {
  const { error, status, stderr } = spawnSync(program, [...options, 'true'], {
    env,
    encoding: 'utf8',
    timeout: answerWithinMs,
  });
  if (error !== undefined) return { held: false, reason: missing(error) };
  if (status === 0) return { held: true, reason: '' };
  return { held: false, reason: firstLine(stderr, `${program} ended with ${status ?? '?'}`) };
}

export class StayAwake {
  readonly #env: NodeJS.ProcessEnv;
  #child: ChildProcess | null = null;
  #answer: Promise<Awake> | null = null;

  constructor(env: NodeJS.ProcessEnv) {
    this.#env = env;
  }

  /** Takes the lock, or keeps it; resolves with whether it is held, never rejects. */
  hold(): Promise<Awake> {
    this.#answer ??= this.#take();
    return this.#answer;
  }

  release(): void {
    // Its end of input ends it; so does the death of this process, however it dies.
    this.#child?.stdin?.end();
    this.#child = null;
    this.#answer = null;
  }

  #take(): Promise<Awake> {
    return new Promise((resolve) => {
      // A group of its own: Ctrl-C is for the sentinel, which lets go when all is off.
      const child = spawn(program, [...options, ...keeper], {
        env: this.#env,
        stdio: ['pipe', 'pipe', 'pipe'],
        detached: true,
      });
      this.#child = child;
      let said = '';
      let complained = '';
      const late = `${program} did not answer within ${answerWithinMs / 1000} s`;
      const timer = setTimeout(() => resolve({ held: false, reason: late }), answerWithinMs);
      const fail = (reason: string): void => {
        clearTimeout(timer);
        // The next run that is armed tries anew.
        if (this.#child === child) this.release();
        resolve({ held: false, reason });
      };
      child.stdin.on('error', () => {});
      child.stderr.on('data', (bytes: Buffer) => (complained += bytes.toString()));
      child.stdout.on('data', (bytes: Buffer) => {
        said += bytes.toString();
        if (!said.includes('held\n')) return;
        clearTimeout(timer);
        resolve({ held: true, reason: '' });
      });
      child.once('error', (error) => fail(missing(error)));
      child.once('close', (code) =>
        fail(firstLine(complained, `${program} ended with ${code ?? '?'}`)),
      );
    });
  }
}
