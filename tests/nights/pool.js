/** Worker processes that run nights, each busy with one at a time. */

import { fork } from 'node:child_process';
import { root } from './build.js';

/** A night that takes longer than this in real time hangs, ms. */
const longestNightMs = 900_000;

/** A night makes much that is gone a moment later: with room for it, less of it is moved about. */
const execArgv = ['--max-semi-space-size=16'];

function start(folder) {
  const child = fork(`${folder}/tests/nights/worker.js`, [root], { cwd: root, execArgv });
  return new Promise((resolve, reject) => {
    child.once('message', ({ faults }) => resolve({ child, faults }));
    child.once('exit', (code) => reject(new Error(`A worker ended with code ${code}.`)));
  });
}

function failed(seed, what) {
  return {
    seed,
    hash: '',
    simulatedMs: 0,
    faults: [],
    faultless: false,
    episodes: [],
    acts: [],
    violations: [{ invariant: 'crash', atMs: 0, what }],
    trips: 0,
    falseTrips: 0,
    finished: 0,
    tripCodes: [],
    alarmCodes: [],
    edges: [],
    lines: [],
  };
}

/** The report of one night by one worker, and whether the worker can go on. */
function runOne(child, order) {
  return new Promise((resolve) => {
    const done = (report, alive) => {
      clearTimeout(timer);
      child.off('message', hear);
      child.off('exit', gone);
      resolve({ report, alive });
    };
    const hear = (report) => done(report, true);
    const gone = (code) => done(failed(order.seed, `The worker ended with code ${code}.`), false);
    const late = () => {
      child.kill('SIGKILL');
      done(failed(order.seed, `The night hung for ${longestNightMs / 1000} s.`), false);
    };
    const timer = setTimeout(late, longestNightMs);
    child.once('message', hear);
    child.once('exit', gone);
    child.send(order);
  });
}

/**
 * Runs every order and hands each report to `onReport`, in the order in which they come. Ends early
 * when `onReport` answers false.
 */
export async function runOrders({ folder, workers, orders, onReport, onFaults }) {
  let next = 0;
  let going = true;
  const work = async () => {
    let child = null;
    while (going && next < orders.length) {
      const order = orders[next];
      next += 1;
      if (child === null) {
        const started = await start(folder);
        child = started.child;
        onFaults?.(started.faults);
      }
      const { report, alive } = await runOne(child, order);
      if (!alive) child = null;
      if (onReport(report) === false) going = false;
    }
    child?.disconnect();
  };
  await Promise.all(Array.from({ length: Math.min(workers, orders.length) }, work));
}
