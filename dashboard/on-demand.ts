/** Fetches parts of the page that are not needed at once. */

import { backoffMs } from './staleness.ts';

/** So often it is tried; with the pauses between them that is some minutes. */
const mostTries = 30;

/**
 * Resolves once the part is there. While the daemon is away it is tried again; never rejects, since what
 * is missing is to be seen on the page. `failed` is called each time that it could not be had.
 */
export async function fetchPart(load: () => Promise<unknown>, failed?: () => void): Promise<void> {
  for (let attempt = 0; attempt < mostTries; attempt += 1) {
    try {
      await load();
      return;
    } catch {
      failed?.();
      await new Promise((resolve) => setTimeout(resolve, backoffMs(attempt)));
    }
  }
}

/** Fetches a part as soon as an element comes into sight. */
export function fetchInSight(element: Element, load: () => Promise<unknown>): void {
  const watcher = new IntersectionObserver((seen) => {
    if (!seen.some(({ isIntersecting }) => isIntersecting)) return;
    watcher.disconnect();
    void fetchPart(load);
  });
  watcher.observe(element);
}
