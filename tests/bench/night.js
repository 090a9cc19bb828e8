/** How many hours of a hurried night one core gets through: simulated supply, driver, run machine. */

import { join } from 'node:path';
import { openStoreWriter } from '../../dist/daemon/store/door.js';
import { startTank } from './demo.js';
import { median } from './measure.js';
import { scratchFolder } from './workshop.js';

const msPerHour = 3_600_000;
/** Faster than any computer: the night then passes as fast as it can be worked out. */
const timeScale = 100_000;
const pollHz = 4;

function cpuSeconds() {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
}

/**
 * One demonstration night; CPU seconds, of all threads, for each of its full hours. The first hour,
 * in which the compiler warms up, is left out.
 */
async function hoursOfOneNight(store) {
  const marks = [];
  let startMs = null;
  let resolveEnd = () => undefined;
  const ended = new Promise((resolve) => {
    resolveEnd = resolve;
  });
  const bench = await startTank({
    store,
    timeScale,
    judged({ run, clock }) {
      if (run === null) return;
      if (run.state.outcome !== null) resolveEnd(run.state.outcome);
      if (run.startedAtMs === null) return;
      startMs ??= clock.nowMs();
      if (clock.nowMs() - startMs >= marks.length * msPerHour) marks.push(cpuSeconds());
    },
  });
  await bench.startDemo('night');
  const { end, reason } = await ended;
  await bench.close();
  if (end !== 'reached') throw new Error(`The night ended otherwise: ${reason}`);
  return marks.slice(2).map((mark, index) => mark - marks[index + 1]);
}

function figureOf(hours) {
  const seconds = median(hours);
  const microseconds = (seconds * 1e6) / (3600 * pollHz);
  const sides = `${microseconds.toFixed(0)} µs of CPU for a cycle, median of ${hours.length} hours`;
  return { value: 1 / seconds, sides };
}

export async function measure() {
  const notices = [];
  const store = await openStoreWriter({
    file: join(scratchFolder(), 'bench.sqlite'),
    onNotice: (notice) => notices.push(notice),
  });
  const hours = await hoursOfOneNight(store);
  await store.close();
  if (notices.length > 0) throw new Error(notices.join(' '));
  return { hours: figureOf(hours) };
}
