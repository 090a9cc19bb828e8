/** All conformance cases, in the order in which they are run. */

import { commandCases } from './command-cases.ts';
import type { ConformanceCase } from './kit.ts';
import { lineCases } from './line-cases.ts';
import { switchCases } from './switch-cases.ts';

export const conformanceCases: readonly ConformanceCase[] = [
  ...commandCases,
  ...switchCases,
  ...lineCases,
];
