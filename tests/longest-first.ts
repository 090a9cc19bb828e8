/** Starts the files that take longest before the others: begun last, one would run on with nothing beside it. */

import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** By far the longest of their projects; a clean checkout has nothing but the size to sort the others by. */
const longest = [
  'tests/sentinel/supervisor.test.ts',
  'tests/control/night.test.ts',
  'tests/serial/faults.test.ts',
  'tests/serial/run.test.ts',
  'tests/browser/everywhere.test.ts',
  'tests/browser/live.test.ts',
];

function place(spec: TestSpecification): number {
  const found = longest.findIndex((file) => spec.moduleId.endsWith(`/${file}`));
  return found === -1 ? longest.length : found;
}

export class LongestFirst extends BaseSequencer {
  override async sort(specs: TestSpecification[]): Promise<TestSpecification[]> {
    // oxlint-disable-next-line unicorn/no-array-sort -- a method of the runner, of no array
    const sorted = await super.sort(specs);
    return sorted.toSorted((left, right) => place(left) - place(right));
  }
}
