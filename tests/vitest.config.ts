/** Four projects: pure and in-process tests, tests with real processes and ptys, the browser, and simulated nights. */

import { defineConfig } from 'vitest/config';
import { LongestFirst } from './longest-first.ts';

const root = new URL('..', import.meta.url).pathname;
/** Tests that put something in place of one of Node's own modules, which no other test may see. */
const alone = 'tests/**/*.alone.test.ts';
/** Of a busy machine a change may want longer than the second that is given by default. */
const poll = { timeout: 15_000 };
const own = [
  alone,
  'tests/nights/**/*.test.ts',
  'tests/serial/**/*.test.ts',
  'tests/faults/**/*.test.ts',
  'tests/browser/**/*.test.ts',
];

export default defineConfig({
  root,
  test: {
    globalSetup: ['tests/global-setup.ts'],
    sequence: { sequencer: LongestFirst },
    projects: [
      {
        extends: true,
        test: {
          name: 'unit',
          include: ['tests/**/*.test.ts'],
          exclude: own,
          // About half of their time is waiting; left alone, vitest would use one of two cores.
          maxWorkers: 4,
          // Files of one worker share their modules, which takes a third off: leave nothing behind.
          isolate: false,
          expect: { poll },
          testTimeout: 20_000,
        },
      },
      {
        extends: true,
        test: {
          name: 'process',
          include: ['tests/serial/**/*.test.ts', 'tests/faults/**/*.test.ts', alone],
          // Real time passes in these: three files at once, and three tests of one, wait side by side.
          maxWorkers: 3,
          maxConcurrency: 3,
          expect: { poll },
          sequence: { groupOrder: 1 },
          testTimeout: 90_000,
          hookTimeout: 60_000,
        },
      },
      {
        extends: true,
        test: {
          name: 'nights',
          include: ['tests/nights/**/*.test.ts'],
          // It has worker processes of its own.
          fileParallelism: false,
          sequence: { groupOrder: 3 },
          testTimeout: 30 * 60_000,
          // The campaign is compiled first.
          hookTimeout: 120_000,
        },
      },
      {
        extends: true,
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          globalSetup: ['tests/browser/global-setup.ts'],
          maxWorkers: 2,
          // Files of one worker share one Chromium.
          isolate: false,
          expect: { poll },
          sequence: { groupOrder: 2 },
          testTimeout: 120_000,
          hookTimeout: 60_000,
        },
      },
    ],
  },
});
