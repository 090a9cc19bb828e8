/** Addresses of the pages, and moving between them without loading anew. */

/** A bath of a tank. */
export interface LedgerPlace {
  readonly tankId: string;
  readonly bathId: string;
}

export type Route =
  | { readonly page: 'bench' }
  | { readonly page: 'plan'; readonly tankId: string | null; readonly continues: string | null }
  | { readonly page: 'run'; readonly tankId: string }
  | { readonly page: 'log' }
  | { readonly page: 'alerts' }
  | { readonly page: 'night' }
  | { readonly page: 'cautions' }
  | { readonly page: 'replay'; readonly runId: string }
  | { readonly page: 'compare'; readonly query: string }
  /** All baths, or the one of a tank. */
  | { readonly page: 'ledger'; readonly place: LedgerPlace | null }
  | { readonly page: 'weigh-in'; readonly runId: string }
  | { readonly page: 'report'; readonly runId: string }
  | { readonly page: 'setup'; readonly part: string }
  | { readonly page: 'unknown' };

export const addresses = {
  bench: '/',
  plan: '/plan',
  planOn: (tankId: string) => `/plan?tank=${encodeURIComponent(tankId)}`,
  carryOn: (runId: string) => `/plan?continues=${encodeURIComponent(runId)}`,
  run: (tankId: string) => `/run/${encodeURIComponent(tankId)}`,
  log: '/log',
  alerts: '/alerts',
  night: '/night',
  ledger: '/baths',
  ledgerOf: (tankId: string, bathId: string) =>
    `/baths/${encodeURIComponent(tankId)}/${encodeURIComponent(bathId)}`,
  weighIn: (runId: string) => `/weigh-in/${encodeURIComponent(runId)}`,
  setup: '/setup',
  setupOf: (part: string) => `/setup/${part}`,
  cautions: '/cautions',
  replay: (runId: string) => `/log/${encodeURIComponent(runId)}`,
  compare: (runIds: readonly string[], axis = 'time') =>
    `/compare?runs=${runIds.join(',')}${axis === 'time' ? '' : `&axis=${axis}`}`,
  report: (runId: string) => `/report/${encodeURIComponent(runId)}`,
} as const;

/** Null, which names nothing, for a part of an address that is badly escaped. */
function decoded(part: string): string | null {
  try {
    return decodeURIComponent(part);
  } catch {
    return null;
  }
}

/** The page at an address of this site. */
export function routeOf(address: string): Route {
  const url = new URL(address, 'http://page');
  const [, first = '', second, third] = url.pathname.split('/').map(decoded);
  if (first === 'baths') {
    if (second && third) return { page: 'ledger', place: { tankId: second, bathId: third } };
    return second === undefined ? { page: 'ledger', place: null } : { page: 'unknown' };
  }
  if (third === undefined && second) {
    if (first === 'weigh-in') return { page: 'weigh-in', runId: second };
    if (first === 'run') return { page: 'run', tankId: second };
    if (first === 'log') return { page: 'replay', runId: second };
    if (first === 'report') return { page: 'report', runId: second };
    if (first === 'setup') return { page: 'setup', part: second };
  } else if (third === undefined) {
    if (first === '') return { page: 'bench' };
    if (first === 'log') return { page: 'log' };
    if (first === 'compare') return { page: 'compare', query: url.search };
    if (first === 'alerts') return { page: 'alerts' };
    if (first === 'setup') return { page: 'setup', part: 'start' };
    if (first === 'night') return { page: 'night' };
    if (first === 'cautions') return { page: 'cautions' };
    if (first === 'plan') {
      const { searchParams: query } = url;
      return { page: 'plan', tankId: query.get('tank'), continues: query.get('continues') };
    }
  }
  return { page: 'unknown' };
}

/** Goes to an address of this site. */
export function go(address: string): void {
  history.pushState(null, '', address);
  dispatchEvent(new PopStateEvent('popstate'));
}

/** Turns plain clicks on links within the site into moves. */
export function followLinks(event: MouseEvent): void {
  const link = (event.target as Element).closest('a');
  const plain = event.button === 0 && !event.metaKey && !event.ctrlKey && !event.shiftKey;
  if (!link || !plain || link.hasAttribute('download') || link.origin !== location.origin) return;
  // A link to a place on this page is the browser's own affair.
  if (link.hash !== '') return;
  event.preventDefault();
  go(link.pathname + link.search);
}
