/** How long a night of a day takes to stand on the page, in a real browser on loopback. */

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { spawnSync } from 'node:child_process';
import { openStoreWriter } from '../../dist/daemon/store/door.js';
import { startDaemon } from './daemon.js';
import { demoRecord } from './demo.js';
import { median } from './measure.js';
import { isThere, root, scratchFolder } from './workshop.js';

const rounds = 7;
/** The shipped rate of looks at the supply, and of lines from a sensor of the bath. */
const everyMs = 250;
const sensorEveryMs = 5000;
const dayMs = 24 * 3_600_000;

/** Reading number `index` of a strike, a ramp and a long hold, with noise. */
function reading(index, wallMs) {
  const atMs = index * everyMs;
  const share = Math.min(1, Math.max(0.3, (atMs - 1_200_000) / 3_600_000));
  const lifecycle = atMs < 1_200_000 ? 'striking' : share < 1 ? 'ramping' : 'holding';
  return {
    atMs,
    wallMs: wallMs + atMs,
    volts: 0.3 + share * 0.5 + Math.random() * 0.01,
    amps: 0.42 * share + Math.random() * 0.001,
    setAmps: 0.42 * share,
    ampHours: index * 2.9e-5,
    thicknessMicrometres: index * 3.6e-4,
    lifecycle,
  };
}

/** A finished day in a store, with a sensor and sixty events. */
async function fill(file) {
  const writer = await openStoreWriter({ file, onNotice: () => undefined });
  const record = { ...(await demoRecord()), simulated: false };
  await writer.createRun(record);
  const rows = dayMs / everyMs;
  for (let index = 0; index < rows; index += 1) {
    writer.appendReading(record.id, reading(index, record.armedWallMs));
    if (index % 4000 === 3999) await writer.lastReading(record.id);
  }
  const bath = { id: 'bath', name: 'Bath', kind: 'temperature', unit: '°C' };
  let values = [];
  for (let atMs = 0; atMs < dayMs; atMs += sensorEveryMs) {
    const value = Number((21 + Math.sin(atMs / 1e7)).toFixed(2));
    values.push(writer.sensors.append(record.id, { ...bath, atMs, value }));
    if (values.length === 500) values = [await Promise.all(values)];
  }
  await Promise.all(values);
  const { id: runId, tankId, armedWallMs } = record;
  for (let index = 0; index < 60; index += 1) {
    const atMs = index * (dayMs / 60);
    const event = { runId, tankId, atMs, wallMs: armedWallMs + atMs };
    await writer.appendEvent({ ...event, code: 'note', message: 'Set-point read back.' });
  }
  await writer.patchRun(runId, {
    startedWallMs: armedWallMs,
    endedWallMs: armedWallMs + dayMs,
    lifecycle: 'finished',
    offConfirmed: true,
    outcome: { end: 'reached', reason: 'Target reached.', faultCode: null },
    ampHours: rows * 2.9e-5,
    lowAmpHours: rows * 2.9e-5,
    highAmpHours: rows * 2.9e-5,
    thicknessMicrometres: rows * 3.6e-4,
  });
  await writer.close();
  return record;
}

/** In the page: once all curves and the picture stand, the time since the navigation or the click. */
function whenShown(fromMs) {
  const places = document.querySelectorAll('replay-page .curve').length;
  const shown =
    places > 0 &&
    document.querySelectorAll('replay-page .uplot canvas').length === places &&
    document.querySelector('replay-page svg.rings') !== null;
  return shown ? performance.now() - fromMs : false;
}

async function looks(browser, url, record) {
  const cold = [];
  const click = [];
  for (let round = 0; round < rounds; round += 1) {
    const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
    const page = await context.newPage();
    await page.goto(`${url}/log/${record.id}`, { waitUntil: 'commit' });
    cold.push(await (await page.waitForFunction(whenShown, 0)).jsonValue());
    await context.close();
    const other = await browser.newContext({ viewport: { width: 1280, height: 800 } });
    const log = await other.newPage();
    await log.goto(`${url}/log`);
    await log.locator('.log svg.thumbnail').first().waitFor();
    const fromMs = await log.evaluate(() => {
      const startMs = performance.now();
      document.querySelector('.log h2 a').click();
      return startMs;
    });
    click.push(await (await log.waitForFunction(whenShown, fromMs)).jsonValue());
    await other.close();
  }
  return { cold: median(cold), click: median(click) };
}

export async function measure() {
  const executablePath = process.env.CHROMIUM_PATH ?? '/usr/bin/chromium';
  if (!isThere('chromium') && process.env.CHROMIUM_PATH === undefined) {
    const leftOut = 'there is no Chromium here';
    return { click: { leftOut }, cold: { leftOut } };
  }
  spawnSync('npm', ['run', '--silent', 'build:dashboard'], { cwd: root, stdio: ['ignore', 2, 2] });
  const { chromium } = await import('playwright-core');
  const folder = scratchFolder();
  mkdirSync(join(folder, 'nightbath'), { mode: 0o700 });
  const record = await fill(join(folder, 'nightbath', 'nightbath.sqlite'));
  const daemon = await startDaemon(folder);
  const args = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run'];
  const browser = await chromium.launch({ executablePath, args });
  try {
    const { cold, click } = await looks(browser, daemon.url, record);
    return { click: { value: click }, cold: { value: cold } };
  } finally {
    await browser.close();
    await daemon.stop();
  }
}
