/** `nightbath passphrase`: sets, lists and removes, shows nothing, and keeps only hashes. */

import { spawn } from 'node:child_process';
import { existsSync, readFileSync, statSync } from 'node:fs';
import { PassThrough } from 'node:stream';
import { describe, expect, it, onTestFinished } from 'vitest';
import { readSecret } from '../../daemon/cli/secret.ts';
import { matchesPassphrase, readPassphrases } from '../../daemon/settings/door.ts';
import { CliBench } from './terminal.ts';

const control = 'thimble oak winter';

function aBench(): { bench: CliBench; file: string } {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  return { bench, file: `${bench.path}/state/passphrases.json` };
}

describe('nightbath passphrase', () => {
  it('asks twice at a terminal and keeps a hash that nobody else can read', async () => {
    const { bench, file } = aBench();
    const { code, output, complaints } = await bench.run(['passphrase'], '', [control, control]);
    expect([code, complaints.split(': ').length]).toEqual([0, 3]);
    expect(output).toContain('The passphrase for control is set.');
    expect(output).toContain('still served on this machine only');
    expect(output + complaints).not.toContain(control);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(readFileSync(file, 'utf8')).not.toContain('thimble');
    expect(await matchesPassphrase(control, readPassphrases(file).control ?? '')).toBe(true);
  });

  it('takes the first line of standard input where there is no terminal', async () => {
    const { bench, file } = aBench();
    expect((await bench.run(['passphrase', 'stop'], 'kettle moss anchor\r\nrest\n')).code).toBe(0);
    const { stop } = readPassphrases(file);
    expect(await matchesPassphrase('kettle moss anchor', stop ?? '')).toBe(true);
  });

  it.each([
    ['two that differ', [control, `${control}s`], 'are not the same'],
    ['one that is short', ['short', 'short'], 'must have 12 to 256'],
  ])('refuses %s and changes nothing', async (_what, secrets, words) => {
    const { bench, file } = aBench();
    const { code, complaints } = await bench.run(['passphrase'], '', secrets);
    expect(code).toBe(1);
    expect(complaints).toContain(words);
    expect(complaints).toContain('Nothing was changed.');
    expect(existsSync(file)).toBe(false);
  });

  it('refuses one for two roles, lists what is set, and removes', async () => {
    const { bench } = aBench();
    await bench.run(['passphrase'], control);
    const same = await bench.run(['passphrase', 'view'], control);
    expect([same.code, same.complaints]).toEqual([
      1,
      'This is the passphrase for control already. Take another one for view.\n',
    ]);
    const list = await bench.run(['passphrase', '--list']);
    expect(list.output).toBe('view    not set\nstop    not set\ncontrol set\n');
    expect((await bench.run(['passphrase', 'control', '--remove'])).code).toBe(0);
    expect((await bench.run(['passphrase', '--list'])).output).toContain('control not set');
    expect((await bench.run(['passphrase', '--remove'])).code).toBe(1);
  });

  it('knows three roles', async () => {
    const { bench } = aBench();
    const { code, complaints } = await bench.run(['passphrase', 'root'], control);
    expect(code).toBe(2);
    expect(complaints).toContain('"root" is not a role; it must be view, stop or control.');
  });
});

describe('what is typed', () => {
  function typing(keys: readonly string[]): { line: Promise<string | null>; shown: () => string } {
    const input = Object.assign(new PassThrough(), {
      isTTY: true,
      raw: [] as boolean[],
      setRawMode(on: boolean) {
        this.raw.push(on);
      },
    });
    let shown = '';
    const line = readSecret(input, (text) => (shown += text), 'Secret: ');
    for (const key of keys) input.emit('data', key);
    return { line, shown: () => shown };
  }

  it.each([
    ['as it is', ['oak', '\r'], 'oak'],
    ['pasted with its line end', ['oak winter\n'], 'oak winter'],
    ['with a letter taken back', ['oaks', '\u007f', '\r'], 'oak'],
    ['with a letter of two halves taken back', ['oak😀', '\u007f', '\r'], 'oak'],
    ['begun anew', ['wrong', '\u0015', 'oak', '\r'], 'oak'],
    ['with an arrow key between', ['oa', '\u001b[D', 'k', '\r'], 'oak'],
  ])('is read %s', async (_what, keys, line) => {
    const { line: read, shown } = typing(keys);
    expect(await read).toBe(line);
    expect(shown()).toBe('Secret: \n');
  });

  it('is given up by Ctrl-C', async () => {
    await expect(typing(['oak', '\u0003']).line).rejects.toThrow('Nothing was set.');
  });

  it('is never echoed by a real terminal', { timeout: 60_000 }, async () => {
    const { bench, file } = aBench();
    const program = `${process.cwd()}/daemon/cli/nightbath.js`;
    // socat gives the program a terminal of its own, with echo on as a login has it.
    const child = spawn(
      'socat',
      ['-', `EXEC:${process.execPath} ${program} passphrase,pty,setsid,ctty,stderr,echo=1`],
      { env: { ...process.env, ...bench.env } },
    );
    onTestFinished(() => void child.kill('SIGKILL'));
    let seen = '';
    const ended = new Promise((resolve) => child.once('close', resolve));
    let answered = 0;
    child.stdout.on('data', (data: Buffer) => {
      seen += data.toString();
      const asked = (seen.match(/\(not shown\): |once more: /g) ?? []).length;
      for (; answered < asked; answered += 1) child.stdin.write(`${control}\r`);
    });
    await ended;
    expect(seen).toContain('The passphrase for control is set.');
    expect(seen).not.toContain('thimble');
    expect(await matchesPassphrase(control, readPassphrases(file).control ?? '')).toBe(true);
  });
});
