/** Hands a letter to a program of the owner's: fixed arguments, no shell, ended when it takes too long. */

import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import type { CommandChannel } from '../../settings/model.ts';
import type { Letter } from '../letter.ts';
import { ChannelError, type Hide } from './secrets.ts';

/** So many that no more than its end is ever shown, also after what is secret was taken out. */
const mostWordsChars = 64_000;

/** The environment of the program: ours, without secrets, and with the message. */
function environmentFor(
  letter: Letter,
  env: NodeJS.ProcessEnv,
  secretVariables: readonly string[],
): NodeJS.ProcessEnv {
  const own = Object.entries(env).filter(([name]) => !secretVariables.includes(name));
  return {
    ...Object.fromEntries(own),
    NIGHTBATH_TITLE: letter.title.replaceAll('\0', ''),
    NIGHTBATH_PRIORITY: letter.priority,
    NIGHTBATH_MESSAGE_ID: letter.id,
    NIGHTBATH_TANK: letter.tankId ?? '',
  };
}

/** With all that it has started. On Windows there are no groups. */
function endAll(child: ChildProcess): void {
  try {
    if (child.pid !== undefined && process.platform !== 'win32')
      process.kill(-child.pid, 'SIGKILL');
    else child.kill('SIGKILL');
  } catch {
    // It was gone already.
  }
}

/** Resolves when the program ends with 0; rejects with its code and its last words. */
export function sendByCommand(
  channel: CommandChannel,
  letter: Letter,
  env: NodeJS.ProcessEnv,
  secrets: { readonly variables: readonly string[]; readonly hide: Hide },
): Promise<void> {
  return new Promise((resolve, reject) => {
    const child = spawn(channel.program, [...channel.arguments], {
      env: environmentFor(letter, env, secrets.variables),
      shell: false,
      // A group of its own, so that what it starts is ended with it.
      detached: process.platform !== 'win32',
      stdio: ['pipe', 'ignore', 'pipe'],
    });
    let words = '';
    let timedOut = false;
    const timer = setTimeout(() => {
      timedOut = true;
      endAll(child);
    }, channel.timeoutSeconds * 1000);
    child.stderr.setEncoding('utf8');
    child.stderr.on('data', (text: string) => {
      words = (words + text).slice(-mostWordsChars);
    });
    child.stderr.on('error', () => undefined);
    // A program need not read what it is given.
    child.stdin.on('error', () => undefined);
    child.stdin.end(`${letter.title}\n\n${letter.text}\n`);
    child.on('error', (error) => {
      clearTimeout(timer);
      const code = 'code' in error ? String(error.code) : error.message;
      reject(new ChannelError(`The program cannot be started (${code}).`));
    });
    // Not `close`: something it left behind may hold its streams open.
    child.on('exit', (code, signal) => {
      clearTimeout(timer);
      child.stderr.destroy();
      const said = secrets
        .hide(words)
        .replaceAll(/[\s\p{Cc}]+/gu, ' ')
        .trim();
      const last = said === '' ? '' : ` It said: ${said.slice(-200)}`;
      if (timedOut) {
        reject(
          new ChannelError(`The program took longer than ${channel.timeoutSeconds} s.${last}`),
        );
      } else if (code === 0) resolve();
      else reject(new ChannelError(`The program ended with ${code ?? signal}.${last}`));
    });
  });
}
