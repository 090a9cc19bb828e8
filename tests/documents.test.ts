/** README and DEVELOPERS.md stay true: what they name is there, and what is there is named. */

import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { exitCodes } from '../daemon/cli/command.ts';
import { commands } from '../daemon/cli/commands.ts';
import { setupWords } from '../dashboard/words/en/setup.ts';
import { supplyWords } from '../dashboard/words/en/supply.ts';

const root = fileURLToPath(new URL('..', import.meta.url));
const read = (name: string): string => readFileSync(join(root, name), 'utf8');
const documents = ['README.md', 'DEVELOPERS.md'];

/** Text in backticks and in code blocks, a line each. */
function codeOf(text: string): readonly string[] {
  const blocks = [...text.matchAll(/^```[a-z]*\n(.*?)^```/gms)].flatMap((match) =>
    (match[1] ?? '').split('\n'),
  );
  const inline = [...text.matchAll(/`([^`\n]+)`/g)].map((match) => match[1] ?? '');
  return [...blocks, ...inline];
}

/** Paths of this repository that a piece of code names. */
function pathsIn(code: string): readonly string[] {
  const named =
    code.match(/(?<![\w./~])(?:daemon|drivers|dashboard|config|tests)\/[\w./-]*\w/g) ?? [];
  // What a maker makes, and what the tests leave behind, is not there from the beginning.
  return named.filter((path) => !path.includes('my-') && !path.startsWith('tests/output'));
}

describe.each(documents)('%s', (name) => {
  const text = read(name);

  it('names only files and folders that exist', () => {
    const named = codeOf(text).flatMap(pathsIn);
    expect(named.length).toBeGreaterThan(2);
    for (const path of named) expect(existsSync(join(root, path)), path).toBe(true);
  });

  it('names only npm scripts that exist', () => {
    const { scripts } = JSON.parse(read('package.json')) as { scripts: Record<string, string> };
    const named = codeOf(text).flatMap((code) => code.match(/npm run ([\w:]+)/)?.[1] ?? []);
    expect(named.length).toBeGreaterThan(0);
    for (const script of named) expect(Object.keys(scripts)).toContain(script);
  });

  it('links only to headings that exist', () => {
    const headings = [...text.matchAll(/^#+ (.+)$/gm)].map((match) =>
      (match[1] ?? '')
        .toLowerCase()
        .replace(/[^\w\s-]/g, '')
        .replace(/\s+/g, '-'),
    );
    for (const [, anchor] of text.matchAll(/\]\(#([\w-]+)\)/g)) expect(headings).toContain(anchor);
  });
});

describe('README.md', () => {
  const text = read('README.md');

  it('opens with the job in one paragraph', () => {
    const [title, job, next] = text.split(/\n\n+/);
    expect(title).toBe('# Nightbath');
    expect(job?.length).toBeGreaterThan(300);
    expect(next).toMatch(/^## /);
  });

  it('lists every command, and no other', () => {
    const table = [...text.matchAll(/^\| `nightbath ([a-z]+)/gm)].map((match) => match[1]);
    expect(new Set(table)).toEqual(new Set(commands.map((command) => command.name)));
  });

  it.each([
    ['Connecting a real supply', 'supply'],
    ['On the network', 'access'],
    ['Who is told at night', 'alerts'],
  ] as const)('leads in "%s" to the page, before any command or file', (heading, part) => {
    const [section = ''] = (text.split(`\n## ${heading}\n`)[1] ?? '').split('\n## ');
    const page = section.indexOf(`**Setup > ${setupWords.parts[part]}**`);
    const byHand = section.search(/`nightbath |`config\/|```|`\[/);
    expect(page).toBeGreaterThan(0);
    expect(byHand).toBeGreaterThan(page);
  });

  it('tells the steps of the bring-up as the page calls them', () => {
    const steps = [...text.matchAll(/^\d\. \*\*(.+?)[.:]?\*\*/gm)].map((match) => match[1]);
    for (const step of Object.values(supplyWords.steps)) expect(steps).toContain(step);
  });

  it('names the address that the shipped settings serve at', () => {
    const port = /^port = (\d+)$/m.exec(read('config/bench.toml'))?.[1];
    expect(text).toContain(`http://127.0.0.1:${port}`);
  });

  it('tells every exit code that the command line tells', () => {
    for (const code of Object.values(exitCodes)) {
      expect(text).toMatch(new RegExp(`\\b${code}\\b`));
    }
  });

  it('holds the cautions that the checklist asks about', () => {
    const cautions = text.slice(
      text.indexOf('## Read this first'),
      text.indexOf('## Two commands'),
    );
    for (const word of ['tray', 'Ventilate', 'Goggles', 'burn', 'children', 'cyanide', 'rules']) {
      expect(cautions).toContain(word);
    }
  });
});

describe('DEVELOPERS.md', () => {
  it('shows every folder of the tree', () => {
    const tree = read('DEVELOPERS.md');
    for (const folder of ['chemistry', 'piece', 'run', 'wire', 'control', 'store', 'sentinel']) {
      expect(tree).toMatch(new RegExp(`^  ${folder}/`, 'm'));
    }
    for (const folder of ['web', 'settings', 'cli', 'link', 'scpi', 'simulated', 'conformance']) {
      expect(tree).toMatch(new RegExp(`^  ${folder}/`, 'm'));
    }
  });
});
