/** A real daemon on a hurried simulated tank and a real Chromium on its pages, for browser tests. */

import { spawn, type ChildProcess } from 'node:child_process';
import {
  accessSync,
  constants,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium, type Browser, type Page } from 'playwright-core';
import { expect } from 'vitest';
import type { Lifecycle } from '../../daemon/run/model.ts';
import { killTogether, until, type TestBench } from '../serial/test-bench.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const shots = join(root, 'tests/output');

const candidates = [
  process.env['CHROMIUM_PATH'],
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
];

function usable(path: string | undefined): path is string {
  if (path === undefined) return false;
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** The Chromium of this worker, for all of its files; it ends with the worker. */
let shared: Promise<Browser> | null = null;

/** A real Chromium; every visitor has a context of its own in it. */
export async function launch(): Promise<Browser> {
  const running = await shared?.catch(() => null);
  if (running?.isConnected() === true) return running;
  shared = launchChromium();
  return shared;
}

function launchChromium(): Promise<Browser> {
  const executablePath = candidates.find(usable);
  if (executablePath === undefined) {
    throw new Error(
      'No Chromium was found: install it (apt-get install chromium), or name one in CHROMIUM_PATH.',
    );
  }
  const sandbox = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  return chromium.launch({
    executablePath,
    args: [
      '--headless',
      ...sandbox,
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** The daemon with a simulated tank whose night passes `timeScale` times faster than the clock. */
export class HurriedBench {
  readonly #folder = mkdtempSync(join(tmpdir(), 'nightbath-browser-'));
  readonly #timeScale: number;
  readonly #more: string;
  #daemon: ChildProcess | null = null;
  #output = '';
  url = '';

  /** `more` is put at the end of the shipped settings. */
  constructor(timeScale: number, more = '') {
    this.#timeScale = timeScale;
    this.#more = more;
  }

  /** Where the daemon keeps what it has to remember; made here, so that something may lie there. */
  get stateFolder(): string {
    const folder = join(this.#folder, 'nightbath');
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    return folder;
  }

  /** Serves on a free port, or on the same one as before. */
  async start(): Promise<void> {
    const port = this.url === '' ? 0 : Number(new URL(this.url).port);
    const config = join(this.#folder, 'bench.toml');
    const shipped = readFileSync(join(root, 'config/bench.toml'), 'utf8');
    const settings = shipped
      .replace(/^port = .*$/m, `port = ${port}`)
      .replace(/^timeScale = .*$/m, `timeScale = ${this.#timeScale}`);
    writeFileSync(config, `${settings}\n${this.#more}`);
    const state = { XDG_STATE_HOME: this.#folder, XDG_CONFIG_HOME: this.#folder };
    const daemon = spawn(
      process.execPath,
      [join(root, 'daemon/cli/nightbath.js'), 'serve', '--config', config],
      { env: { ...process.env, ...state }, stdio: ['ignore', 'pipe', 'pipe'] },
    );
    this.#daemon = daemon;
    this.#output = '';
    const hear = (chunk: Buffer): void => {
      this.#output += chunk.toString();
    };
    daemon.stdout.on('data', hear);
    daemon.stderr.on('data', hear);
    this.url = await until('the daemon’s address', () => {
      if (daemon.exitCode !== null) throw new Error(`The daemon ended:\n${this.#output}`);
      return /http:\/\/[^\s]+/.exec(this.#output)?.[0];
    });
  }

  /** One command line beside the daemon, as its user would type it. */
  async command(...args: string[]): Promise<{ code: number | null; output: string }> {
    const state = { XDG_STATE_HOME: this.#folder, XDG_CONFIG_HOME: this.#folder };
    const child = spawn(
      process.execPath,
      [
        join(root, 'daemon/cli/nightbath.js'),
        ...args,
        '--config',
        join(this.#folder, 'bench.toml'),
      ],
      { env: { ...process.env, ...state }, stdio: ['ignore', 'pipe', 'pipe'] },
    );
    let output = '';
    for (const stream of [child.stdout, child.stderr]) {
      stream.on('data', (chunk: Buffer) => (output += chunk.toString()));
    }
    const code = await new Promise<number | null>((resolve) => child.once('close', resolve));
    return { code, output };
  }

  /** Ends the daemon in order; what it recorded stays until `clear`. */
  async stop(): Promise<void> {
    const daemon = this.#daemon;
    if (daemon === null || daemon.exitCode !== null || daemon.signalCode !== null) return;
    const ended = new Promise((resolve) => daemon.once('exit', resolve));
    daemon.kill('SIGTERM');
    await ended;
  }

  /** All its processes gone at once, as when the machine loses power. */
  async kill(): Promise<void> {
    const daemon = this.#daemon;
    if (daemon?.pid === undefined) return;
    const ended = new Promise((resolve) => daemon.once('exit', resolve));
    killTogether(daemon);
    await ended;
  }

  async clear(): Promise<void> {
    await this.stop();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}

export interface Viewport {
  readonly width: number;
  readonly look: 'dark' | 'light';
}

function sizeOf(width: number): { width: number; height: number } {
  return { width, height: width < 600 ? 844 : 800 };
}

interface AxeViolation {
  readonly id: string;
  readonly nodes: readonly {
    readonly target: readonly string[];
    readonly failureSummary?: string;
  }[];
}

interface Axe {
  run(root: Document, options: object): Promise<{ violations: readonly AxeViolation[] }>;
}

const axeSource = readFileSync(
  createRequire(import.meta.url).resolve('axe-core/axe.min.js'),
  'utf8',
);

const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
/** The rules among those that look at colours; all others judge what is the same in both looks. */
const colourRules = ['color-contrast', 'link-in-text-block'];

/** One page of a browser, with everything that went wrong on it. */
export class Visitor {
  readonly page: Page;
  /** Console errors, page errors and violations of the security policy. */
  readonly complaints: string[] = [];
  #width: number;

  private constructor(page: Page, width: number) {
    this.page = page;
    this.#width = width;
  }

  static async open(browser: Browser, { width, look }: Viewport): Promise<Visitor> {
    const context = await browser.newContext({
      viewport: sizeOf(width),
      colorScheme: look,
      reducedMotion: 'reduce',
    });
    const visitor = new Visitor(await context.newPage(), width);
    const { page, complaints } = visitor;
    page.on('console', (message) => {
      // A plan that is refused is answered with 422, which the browser reports by itself.
      const refusedPlan =
        message.location().url.endsWith('/api/plans') && /422/.test(message.text());
      if (message.type() === 'error' && !refusedPlan) {
        complaints.push(`console: ${message.text()} ${message.location().url}`);
      }
    });
    page.on('pageerror', (error) => complaints.push(`page: ${error.message}`));
    await page.addInitScript(() => {
      addEventListener('securitypolicyviolation', (event) => {
        console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`);
      });
    });
    return visitor;
  }

  get width(): number {
    return this.#width;
  }

  /** The same page in a window of another width. */
  async resize(width: number): Promise<void> {
    await this.page.setViewportSize(sizeOf(width));
    this.#width = width;
  }

  /** Kept out of the repository, to be looked at; a run of all tests makes none. */
  async shot(name: string): Promise<void> {
    if (process.env['NIGHTBATH_PICTURES'] === 'no') return;
    mkdirSync(shots, { recursive: true });
    const path = join(shots, `${name}-${this.#width}.png`);
    await this.page.screenshot({ path, animations: 'disabled', caret: 'hide', fullPage: true });
  }

  /** Every violation of the accessibility rules in both looks, as one line each. */
  async axe(): Promise<readonly string[]> {
    await this.page.emulateMedia({ colorScheme: 'dark' });
    const hasAxe = await this.page.evaluate(() => 'axe' in globalThis);
    if (!hasAxe) await this.page.evaluate(axeSource);
    const dark = await this.#violations({ type: 'tag', values: tags });
    await this.page.emulateMedia({ colorScheme: 'light' });
    const light = await this.#violations({ type: 'rule', values: colourRules });
    return [...dark.map((line) => `dark ${line}`), ...light.map((line) => `light ${line}`)];
  }

  async #violations(runOnly: object): Promise<readonly string[]> {
    const options = { runOnly, resultTypes: ['violations'] };
    const violations = await this.page.evaluate(async (given) => {
      const { axe } = globalThis as unknown as { axe: Axe };
      return (await axe.run(document, given)).violations;
    }, options);
    return violations.map(({ id, nodes }) => {
      const where = nodes.map(({ target }) => target.join(' ')).join(', ');
      return `${id}: ${where} ${nodes[0]?.failureSummary ?? ''}`;
    });
  }

  /** How far the page is wider than its window, in CSS pixels. */
  overflow(): Promise<number> {
    return this.page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  }

  async close(): Promise<void> {
    await this.page.context().close();
  }
}

/** The widths at which pages are looked at: a laptop at the bench, and a phone. */
export const bothWidths = [1280, 390] as const;

/** What has to hold on a page at both widths; in the end it is as wide as before. */
export async function expectSoundAtBoth(visitor: Visitor, name: string): Promise<void> {
  const { width } = visitor;
  for (const other of [...bothWidths.filter((one) => one !== width), width]) {
    await visitor.resize(other);
    await expectSound(visitor, name);
  }
}

/** What has to hold on every page at every moment. */
export async function expectSound(visitor: Visitor, name: string): Promise<void> {
  await visitor.shot(name);
  expect(await visitor.axe(), name).toEqual([]);
  expect(await visitor.overflow(), `${name} is wider than its window`).toBeLessThanOrEqual(0);
}

/** Until the run of a bench is that far; waited for in vain, it tells how far it is and how it ended. */
export async function lifecycle(bench: TestBench, wanted: Lifecycle): Promise<void> {
  const stands = (): string => {
    const { lifecycle: now, outcome } = bench.snapshot?.run ?? {};
    return `the run to be ${wanted}; it is ${now ?? 'not there'}, ${JSON.stringify(outcome)}`;
  };
  await until(stands, () => bench.snapshot?.run?.lifecycle === wanted);
}
