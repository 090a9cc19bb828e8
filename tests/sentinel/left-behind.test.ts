/** What is kept for the day on which sentinel and control die at once, and to whom OFF is sent then. */

import { spawn, spawnSync } from 'node:child_process';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { Aftermath } from '../../daemon/sentinel/aftermath.ts';
import { readSentinelNotes } from '../../daemon/sentinel/door.ts';
import { Guards } from '../../daemon/sentinel/guards.ts';
import { GuardBook, readGuardBook } from '../../daemon/sentinel/guard-book.ts';
import { meet } from '../../daemon/sentinel/identity.ts';
import { lastingNames } from '../../daemon/sentinel/lasting-name.ts';
import { birthOf } from '../../daemon/sentinel/process-birth.ts';
import { lineScript } from './supply.ts';

const built = new URL('../../dist/daemon/sentinel/guard-book.js', import.meta.url).href;
const folder = mkdtempSync(join(tmpdir(), 'nightbath-book-'));
let file = '';
let number = 0;
beforeEach(() => {
  number += 1;
  file = join(folder, `state-${number}`, 'guards.json');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const way = { tankId: 'one', script: { ...lineScript, path: '/dev/x' }, names: ['/dev/by-id/x'] };

/** As if the sentinel that wrote the book had died. */
async function bookOfADeadProcess(): Promise<void> {
  await new GuardBook(file).write([way]);
  const child = spawn(process.execPath, ['-e', '']);
  await new Promise((resolve) => child.once('exit', resolve));
  const book = JSON.parse(readFileSync(file, 'utf8'));
  writeFileSync(file, JSON.stringify({ ...book, owner: { ...book.owner, pid: child.pid } }));
}

describe('the book of what is held', () => {
  it('is nothing where there is none, and gone once nothing is held any more', async () => {
    expect(readGuardBook(file)).toEqual({ kind: 'nothing' });
    const book = new GuardBook(file);
    await book.write([way]);
    expect(existsSync(file)).toBe(true);
    await book.write([]);
    expect(existsSync(file)).toBe(false);
  });

  it('of a dead process is owed, with all that it takes to switch off', async () => {
    await bookOfADeadProcess();
    expect(readGuardBook(file)).toEqual({ kind: 'owed', ways: [way] });
  });

  it('of a process that lives is not ours', async () => {
    await bookOfADeadProcess();
    const living = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
    const book = JSON.parse(readFileSync(file, 'utf8'));
    const stat = readFileSync(`/proc/${living.pid}/stat`, 'utf8');
    const startedTicks = stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19];
    writeFileSync(file, JSON.stringify({ ...book, owner: { pid: living.pid, startedTicks } }));
    expect(readGuardBook(file)).toEqual({ kind: 'in-use', pid: living.pid });
    // The number of a dead process that somebody else has now.
    const owner = { pid: living.pid, startedTicks: '1' };
    writeFileSync(file, JSON.stringify({ ...book, owner }));
    expect(readGuardBook(file).kind).toBe('owed');
    living.kill('SIGKILL');
  });

  it.skipIf(process.platform !== 'linux')(
    'of a process that has ended but lingers is owed',
    async () => {
      await bookOfADeadProcess();
      // The shell starts a process, and becomes one that never takes leave of it.
      const shell = spawn('sh', ['-c', 'sleep 0.05 & echo $!; exec sleep 60']);
      const pid = await new Promise<number>((resolve) => {
        shell.stdout.once('data', (bytes) => resolve(Number(String(bytes))));
      });
      const stat = (): string[] => {
        const text = readFileSync(`/proc/${pid}/stat`, 'utf8');
        return text.slice(text.lastIndexOf(')') + 2).split(' ');
      };
      const startedTicks = stat()[19];
      for (let turn = 0; turn < 500 && stat()[0] !== 'Z'; turn += 1) await wait(10);
      expect(stat()[0]).toBe('Z');
      const book = JSON.parse(readFileSync(file, 'utf8'));
      writeFileSync(file, JSON.stringify({ ...book, owner: { ...book.owner, pid, startedTicks } }));
      expect(readGuardBook(file).kind).toBe('owed');
      shell.kill('SIGKILL');
    },
  );

  it.skipIf(process.platform !== 'linux')(
    'from before the computer was started anew is owed',
    async () => {
      await bookOfADeadProcess();
      const living = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
      const born = birthOf(living.pid ?? 0);
      const book = JSON.parse(readFileSync(file, 'utf8'));
      const owner = { pid: living.pid, startedTicks: born.kind === 'running' ? born.birth : null };
      const write = (id: string | null) =>
        writeFileSync(file, JSON.stringify({ ...book, owner: { ...owner, bootId: id } }));
      write(book.owner.bootId);
      expect(readGuardBook(file).kind).toBe('in-use');
      write('11111111-2222-3333-4444-555555555555');
      expect(readGuardBook(file).kind).toBe('owed');
      living.kill('SIGKILL');
    },
  );

  it.skipIf(process.platform !== 'linux')(
    'is owed where its number has gone to a process of another user',
    async () => {
      await bookOfADeadProcess();
      const book = JSON.parse(readFileSync(file, 'utf8'));
      const owner = { ...book.owner, pid: 1, startedTicks: '999999999' };
      // Process 1 belongs to root, and whoever is not root may not even ask for it.
      const asked = `
        import(${JSON.stringify(built)}).then(({ readGuardBook }) => {
          process.stdout.write(readGuardBook(process.argv[1]).kind);
        });`;
      const open = mkdtempSync(join(tmpdir(), 'nightbath-open-'));
      const copy = join(open, 'guards.json');
      writeFileSync(copy, JSON.stringify({ ...book, owner }));
      chmodSync(open, 0o755);
      chmodSync(copy, 0o644);
      const as = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {};
      const told = spawnSync(process.execPath, ['-e', asked, copy], { encoding: 'utf8', ...as });
      rmSync(open, { recursive: true, force: true });
      expect(told.stderr).toBe('');
      expect(told.stdout).toBe('owed');
    },
  );

  it('tells processes apart without the kernel\u2019s own account, too', async () => {
    const living = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
    const pid = living.pid ?? 0;
    const first = birthOf(pid, '/no-such-folder');
    expect(first).toMatchObject({
      kind: 'running',
      birth: expect.stringMatching(/\d\d:\d\d:\d\d/),
    });
    expect(birthOf(pid, '/no-such-folder')).toEqual(first);
    const gone = new Promise((resolve) => living.once('exit', resolve));
    living.kill('SIGKILL');
    await gone;
    expect(birthOf(pid, '/no-such-folder')).toEqual({ kind: 'gone' });
  });

  it.each(['', '{', '{"owner":{}}', '[]'])('that cannot be read says so: %j', async (text) => {
    await new GuardBook(file).write([way]);
    writeFileSync(file, text);
    expect(readGuardBook(file).kind).toBe('unreadable');
  });

  it('holds what was written last, however many writes are under way', async () => {
    const book = new GuardBook(file);
    const writes = [book.write([way]), book.write([]), book.write([way]), book.write([])];
    await Promise.all(writes);
    expect(existsSync(file)).toBe(false);
  });

  it('that cannot be written says why', async () => {
    writeFileSync(join(folder, 'plain'), '');
    await expect(new GuardBook(join(folder, 'plain', 'x.json')).write([way])).rejects.toThrow(
      /ENOTDIR|EEXIST/,
    );
  });
});

describe('lasting names', () => {
  it('are the links that lead to the same device, and none for what is not there', async () => {
    const { symlinkSync } = await import('node:fs');
    const names = mkdtempSync(join(folder, 'by-id-'));
    symlinkSync('/dev/null', join(names, 'usb-supply'));
    symlinkSync('/dev/zero', join(names, 'usb-other'));
    symlinkSync('/dev/absent', join(names, 'usb-gone'));
    expect(lastingNames('/dev/null', [names, '/dev/no-such-folder'])).toEqual([
      join(names, 'usb-supply'),
    ]);
    expect(lastingNames('/dev/absent', [names])).toEqual([]);
  });
});

describe('who stands at a line', () => {
  /** A line that answers every question with the next of these pieces, one at each look. */
  function line(...pieces: string[]) {
    const waiting: string[] = [];
    return {
      written: '',
      async write(bytes: Buffer) {
        this.written += bytes.toString('latin1');
        waiting.push(...pieces);
      },
      take: () => waiting.shift() ?? '',
      close() {},
    };
  }
  const identity = { query: '\n*IDN?\n', reply: 'MAKER,MODEL,1,1.0' };

  it.each([
    [['MAKER,MODEL,1,1.0\n'], 'same'],
    [['MAKER,', 'MODEL,1,1.0', '\r\n'], 'same'],
    [['*IDN?\r\nMAKER,MODEL,1,1.0\r\nOK\r\n'], 'same'],
    [['0.500\n', 'MAKER,MODEL,1,1.0\n'], 'same'],
    [['MAKER,MODEL,1,1.0'], 'same'],
    [['MAKER,MODEL,1,1.0', '1\n'], 'other'],
    [['MAKER,MODEL,2,1.0\n'], 'other'],
    [['error: unknown command\n'], 'other'],
    [[], 'silent'],
    [['*IDN?\r\n'], 'silent'],
    [['\r\n', '\r\n'], 'silent'],
  ])('that answers %j is %s', async (pieces, kind) => {
    const channel = line(...pieces);
    expect((await meet(channel, identity)).kind).toBe(kind);
    // Whoever says something else is asked once more before it counts.
    expect(channel.written).toBe('\n*IDN?\n'.repeat(kind === 'other' ? 2 : 1));
  });

  it.each([
    ['the right name', 'MAKER,MODEL,1,1.0\n', 'same'],
    ['other noise', 'MA\xffER,MOD#L,1,1.0\n', 'silent'],
    ['nothing', '', 'silent'],
    ['the same again', 'MAK\xffR,MODEL,1,1.0\n', 'other'],
  ])('that says what nobody knows and then %s is judged by both', async (_what, second, kind) => {
    const said = ['MAK\xffR,MODEL,1,1.0\n', second];
    const waiting: string[] = [];
    const channel = {
      async write() {
        waiting.push(said.shift() ?? '');
      },
      take: () => waiting.shift() ?? '',
      close() {},
    };
    expect((await meet(channel, identity)).kind).toBe(kind);
  });

  it.each([
    ['an echo', '*IDN?\r\n', 250, undefined],
    ['a greeting', 'READY\r\n', 250, undefined],
    ['an echo, and a time-out that says so', '*IDN?\r\n', 700, 500],
  ])('is the same when it answers late after %s', async (_what, first, afterMs, timeoutMs) => {
    let askedMs = Infinity;
    const waiting: string[] = [];
    const channel = {
      async write() {
        askedMs = performance.now();
        waiting.push(first);
      },
      take() {
        if (performance.now() - askedMs < afterMs) return waiting.shift() ?? '';
        askedMs = Infinity;
        return 'MAKER,MODEL,1,1.0\r\n';
      },
      close() {},
    };
    expect((await meet(channel, { ...identity, timeoutMs })).kind).toBe('same');
  });

  it.each([
    ['an error text', 'ERR\n'],
    ['another error text', '-410,"Query INTERRUPTED"\n'],
  ])('that says %s each time is nobody else: OFF is not kept from it', async (_what, text) => {
    const pattern = '^[^,]*,[^,]*,[^,]*,[^,]*$';
    expect((await meet(line(text), { ...identity, pattern })).kind).toBe('silent');
    expect((await meet(line('OTHER,MODEL,1,1.0\n'), { ...identity, pattern })).kind).toBe('other');
  });

  it('is asked nothing where no name is known', async () => {
    const channel = line('whatever\n');
    expect((await meet(channel, null)).kind).toBe('same');
    expect(channel.written).toBe('');
  });
});

describe('a book that cannot be read', () => {
  it('is kept aside, and the next control is told to call a person', async () => {
    await new GuardBook(file).write([way]);
    writeFileSync(file, '{"owner"');
    const noteFile = `${file}.note`;
    const guards = new Guards({ hardLimits: new Map(), nameFolders: [], onChange: () => {} });
    const said: string[] = [];
    const told: unknown[] = [];
    const aftermath = new Aftermath({
      guards,
      noteFile,
      bookFile: file,
      say: (sentence) => said.push(sentence),
      tell: (word) => told.push(word),
      leave: new AbortController().signal,
    });
    expect(await aftermath.settleLeftBehind(1_000)).toBe(true);
    expect(said.join(' ')).toContain('cannot be read');
    expect(told).toMatchObject([
      { grave: true, title: 'Nobody knows whether an output was left on' },
    ]);
    expect(readSentinelNotes(noteFile)).toMatchObject([{ cause: 'unreadable', tanks: [] }]);
    expect(readFileSync(`${file}.unreadable`, 'utf8')).toBe('{"owner"');
    expect(existsSync(file)).toBe(false);
  });
});
