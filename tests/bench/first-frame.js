/** How long the dashboard takes to its first live frame, against an empty page that hears the same one. */

import { spawnSync } from 'node:child_process';
import { startDaemon } from './daemon.js';
import { alternately, figure } from './measure.js';
import { isThere, root, scratchFolder } from './workshop.js';

const rounds = 9;

/** In the page: the time since the navigation once a tank stands there that the bench was heard of. */
function whenShown() {
  const grown = document.querySelector('article.tank .link.connected');
  return grown !== null && document.querySelector('.stale') === null && performance.now();
}

/** In an empty page: the time since the navigation at the first message about a tank. */
async function whenHeard() {
  const socket = new WebSocket(`${location.origin.replace('http', 'ws')}/api/live`);
  return new Promise((resolve, reject) => {
    socket.addEventListener('error', () => reject(new Error('The live socket does not open.')));
    socket.addEventListener('message', ({ data }) => {
      if (!data.includes('"link"')) return;
      const heardMs = performance.now();
      socket.close();
      resolve(heardMs);
    });
  });
}

/** Each in a browser that knows nothing of the page. */
async function inFreshContext(browser, url, look) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  await page.goto(url, { waitUntil: 'commit' });
  const tookMs = await look(page);
  await context.close();
  return tookMs;
}

export async function measure() {
  const executablePath = process.env.CHROMIUM_PATH ?? '/usr/bin/chromium';
  if (!isThere('chromium') && process.env.CHROMIUM_PATH === undefined) {
    const leftOut = 'there is no Chromium here';
    return { shown: { leftOut }, times: { leftOut } };
  }
  spawnSync('npm', ['run', '--silent', 'build:dashboard'], { cwd: root, stdio: ['ignore', 2, 2] });
  const { chromium } = await import('playwright-core');
  const daemon = await startDaemon(scratchFolder());
  const args = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run'];
  const browser = await chromium.launch({ executablePath, args });
  const ours = () =>
    inFreshContext(browser, `${daemon.url}/`, async (page) =>
      (await page.waitForFunction(whenShown)).jsonValue(),
    );
  const theirs = () =>
    inFreshContext(browser, `${daemon.url}/api/health`, (page) => page.evaluate(whenHeard));
  try {
    // Once for the daemon and the browser to warm up.
    await ours();
    await theirs();
    const measured = await alternately(rounds, { ours, theirs });
    return { shown: { value: measured.ours }, times: figure(measured, 'ms', 0) };
  } finally {
    await browser.close();
    await daemon.stop();
  }
}
