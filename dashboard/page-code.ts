/** Where the code of each page is: fetched when the page is first gone to. */

import type { Route } from './route.ts';

type Page = Exclude<Route['page'], 'unknown'>;

const pages: Readonly<Record<Page, () => Promise<unknown>>> = {
  bench: () => import('./bench-page.ts'),
  plan: () => import('./plan-page.ts'),
  run: () => import('./run-page.ts'),
  log: () => import('./log/log-page.ts'),
  alerts: () => import('./alerts-page.ts'),
  night: () => import('./night/night-page.ts'),
  cautions: () => import('./cautions/cautions-page.ts'),
  replay: () => import('./replay-page.ts'),
  compare: () => import('./log/compare-page.ts'),
  ledger: () => import('./ledger/ledger-page.ts'),
  'weigh-in': () => import('./ledger/weigh-in-page.ts'),
  report: () => import('./log/report-page.ts'),
  setup: () => import('./setup/setup-page.ts'),
};

/** Resolves once the page at a route can be shown; asked for again, it is there already. */
export async function fetchPage({ page }: Route): Promise<void> {
  if (page !== 'unknown') await pages[page]();
}
