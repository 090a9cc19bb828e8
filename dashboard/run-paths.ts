/** Where a page that shows a run reads it, begun before the page's own code is here. */

import { readAhead } from './api.ts';
import type { Route } from './route.ts';

/** Points asked for: enough for a wide screen. The daemon thins curves and sensors to them. */
const points = 1200;

/** All that shows a run, in one answer. */
export const folderPath = (runId: string): string =>
  `/api/runs/${encodeURIComponent(runId)}/folder?points=${points}`;

/** Begins what the page at a route will read first, where that is a run. */
export function readRunAhead(route: Route): void {
  if (route.page === 'replay' || route.page === 'report') readAhead(folderPath(route.runId));
}
