/** The plain scripts around the program: the check of Node, the first build, the database module. */

import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { packageRoot } from '../../daemon/settings/door.ts';

let root = '';
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'nightbath-launcher-'));
  for (const name of ['package.json', 'daemon/cli/nightbath.js', 'daemon/cli/prepare.js']) {
    mkdirSync(dirname(join(root, name)), { recursive: true });
    cpSync(join(packageRoot(), name), join(root, name));
  }
});
afterEach(() => rmSync(root, { recursive: true, force: true }));

function write(name: string, content: string): void {
  const file = join(root, name);
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, content);
}

const program = `export async function runCommandLine(args) {
  console.log('ran', args.join(' '));
  if (args[0] === 'fail') throw new Error('Could not locate the bindings file. Tried: nowhere');
  return Number.parseInt(args[1], 10) || 0;
}`;

function withProgram(): void {
  write('dist/daemon/cli/main.js', program);
}

function withDatabaseModule(binary: boolean): void {
  write('node_modules/better-sqlite3/package.json', '{}');
  if (binary) write('node_modules/better-sqlite3/build/Release/better_sqlite3.node', '');
}

/** Tools and an npm that "builds" by writing the program, or fails. */
function withTools(works = true): string {
  for (const tool of ['tsc', 'vite']) write(`node_modules/.bin/${tool}`, '');
  const npm = join(root, 'npm-cli.js');
  const work = works
    ? `import { mkdirSync, writeFileSync } from 'node:fs';
       mkdirSync('dist/daemon/cli', { recursive: true });
       writeFileSync('dist/daemon/cli/main.js', ${JSON.stringify(program)});
       console.error('built with', process.argv.slice(2).join(' '));`
    : 'process.exit(3);';
  write('npm-cli.js', work);
  chmodSync(npm, 0o755);
  return npm;
}

function run(script: string, args: string[], options: { node?: string; npm?: string } = {}) {
  const disguise =
    options.node === undefined
      ? []
      : [
          '--import',
          `data:text/javascript,Object.defineProperty(process,'versions',{value:{...process.versions,node:'${options.node}'}})`,
        ];
  const npm = options.npm === undefined ? {} : { npm_execpath: options.npm };
  const { npm_execpath: _, ...env } = process.env;
  const done = spawnSync(process.execPath, [...disguise, join(root, script), ...args], {
    encoding: 'utf8',
    env: { ...env, ...npm },
  });
  return { code: done.status, output: done.stdout, complaints: done.stderr };
}

const launcher = 'daemon/cli/nightbath.js';

describe('the check of Node', () => {
  it.each([
    ['20.19.0', true],
    ['20.20.2', true],
    ['22.12.0', true],
    ['24.0.0', true],
    ['26.3.1', true],
    ['20.18.9', false],
    ['22.11.0', false],
    ['18.20.0', false],
    ['21.0.0', false],
    ['9.0.0', false],
  ])('lets Node %s run: %s', (version, expected) => {
    withProgram();
    const { code, output } = run(launcher, ['off'], { node: version });
    expect([code, output]).toEqual(expected ? [0, 'ran off\n'] : [1, '']);
  });

  it('says what is needed before anything else', () => {
    const { code, complaints } = run(launcher, ['serve'], { node: '18.20.4' });
    expect(code).toBe(1);
    expect(complaints).toContain('does not run on Node 18.20.4');
    expect(complaints).toContain('20.19, 22.12, 24.0, 26.0');
    expect(complaints).not.toContain(' at ');
  });

  it('is written in words that old Nodes can parse', () => {
    for (const name of [launcher, 'daemon/cli/prepare.js']) {
      const source = readFileSync(join(root, name), 'utf8');
      expect(source).not.toMatch(/\?\.[a-z[(]|\?\?|\|\|=|&&=|from 'node:|^await /m);
    }
  });
});

describe('the launcher', () => {
  it('runs the program and ends with its exit code', () => {
    withProgram();
    const { code, output, complaints } = run(launcher, ['off', '70']);
    expect([code, output, complaints]).toEqual([70, 'ran off 70\n', '']);
  });

  it('builds once in a clone with the tools installed', () => {
    const npm = withTools();
    const { code, output, complaints } = run(launcher, ['plan'], { npm });
    expect([code, output]).toEqual([0, 'ran plan\n']);
    expect(complaints).toContain('not built yet');
    expect(complaints).toContain('built with run build');
  });

  it('says so when the build fails, and when there is nothing to build with', () => {
    const failed = run(launcher, ['plan'], { npm: withTools(false) });
    expect([failed.code, failed.complaints]).toEqual([1, expect.stringContaining('build failed')]);
    rmSync(join(root, 'node_modules'), { recursive: true });
    const without = run(launcher, ['plan']);
    expect([without.code, without.complaints]).toEqual([1, expect.stringContaining('npm ci')]);
  });

  it('says how to get the database module when its binary is missing, before serving', () => {
    withProgram();
    withDatabaseModule(false);
    const { code, output, complaints } = run(launcher, ['serve']);
    expect([code, output]).toEqual([1, '']);
    expect(complaints).toContain('npm install-scripts approve better-sqlite3');
    expect(run(launcher, ['serve', '--help']).code).toBe(0);
    withDatabaseModule(true);
    expect(run(launcher, ['serve']).code).toBe(0);
  });

  it('says the same when the module fails to load', () => {
    withProgram();
    const { code, complaints } = run(launcher, ['fail']);
    expect([code, complaints]).toEqual([1, expect.stringContaining('npm rebuild better-sqlite3')]);
  });
});

describe('prepare', () => {
  const script = 'daemon/cli/prepare.js';
  it('builds where it can, and passes a failure on', () => {
    expect(run(script, [], { npm: withTools() }).code).toBe(0);
    expect(readFileSync(join(root, 'dist/daemon/cli/main.js'), 'utf8')).toBe(program);
    expect(run(script, [], { npm: withTools(false) }).code).toBe(3);
  });

  it('is content without tools where the program is there', () => {
    withProgram();
    expect(run(script, [])).toEqual({ code: 0, output: '', complaints: '' });
  });

  it('does not fail an installation without development tools, and says what is missing', () => {
    const { code, complaints } = run(script, []);
    expect([code, complaints]).toEqual([0, expect.stringContaining('not built')]);
  });
});
