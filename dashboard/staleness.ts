/** When what the page shows is old, and how soon it asks again. */

/** `outdated`: page and daemon do not speak the same version, and the page shows nothing else. */
export type Freshness = 'connecting' | 'live' | 'stale' | 'outdated';

/** Without a frame for this long the numbers are old, ms. */
export const staleAfterMs = 3000;

/** How fresh the picture is, from the ages of its parts. */
export function freshness(
  lastFrameMs: number | null,
  nowMs: number,
  controlAlive: boolean,
): Exclude<Freshness, 'outdated'> {
  if (lastFrameMs === null) {
    return 'connecting';
  }
  return controlAlive && nowMs - lastFrameMs <= staleAfterMs ? 'live' : 'stale';
}

/** How long to wait before the next attempt, ms: doubling from half a second to eight. */
export function backoffMs(attempt: number): number {
  return Math.min(8000, 500 * 2 ** attempt);
}
