/** What a page that shows a run reads of it, begun before the page's own code is here. */

import { readAhead } from './api.ts';
import type { Route } from './route.ts';

/** Points asked for: enough for a wide screen. The daemon thins the curve to them. */
const buckets = 1200;

/** Where the documents of a run are. */
export function runPaths(runId: string) {
  const path = `/api/runs/${encodeURIComponent(runId)}`;
  return {
    record: path,
    series: `${path}/series?buckets=${buckets}`,
    events: `${path}/events`,
    alarms: `${path}/alarms`,
    sensors: `${path}/sensors?points=${buckets}`,
    sections: `${path}/sections`,
  } as const;
}

/** Begins what the page at a route will read first, where that is a run. */
export function readRunAhead(route: Route): void {
  if (route.page !== 'replay' && route.page !== 'report') return;
  for (const path of Object.values(runPaths(route.runId))) readAhead(path);
}
