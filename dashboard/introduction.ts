/** Whether this browser has been told how it all works. */

import { keep, kept } from './theme.ts';

const key = 'nightbath.introduced';

export function wasIntroduced(): boolean {
  return kept(key) === 'yes';
}

export function putIntroductionAway(): void {
  keep(key, 'yes');
}

/** As on a first visit. */
export function showIntroduction(): void {
  keep(key, 'again');
}
