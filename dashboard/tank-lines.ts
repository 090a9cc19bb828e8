/** Single lines about a tank that several pages show, and whether it is free. */

import { html, nothing, type TemplateResult } from 'lit';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { clockSeconds, exact } from './format.ts';
import { words } from '#words/common';

/** That no current is real, and how fast the tank's clock runs; nothing for a real tank. */
export function simulatedLine(tank: Pick<TankSnapshot, 'simulated' | 'timeScale'>): unknown {
  if (!tank.simulated) return nothing;
  return html`<p class="simulated">
    ${words.simulated} ${tank.timeScale > 1 ? words.hurried(tank.timeScale) : nothing}
  </p>`;
}

/** The output on its own line, with the time at which it became so. */
export function outputLine(tank: TankSnapshot): string {
  return words.outputs[tank.output](clockSeconds(tank.outputSinceWallMs));
}

/** Grown metal against the target, as a strip of it. */
export function growthStrip(grownMicrometres: number, targetMicrometres: number): TemplateResult {
  const share = targetMicrometres > 0 ? Math.min(1, grownMicrometres / targetMicrometres) : 0;
  return html`<svg class="strip" viewBox="0 0 200 8" preserveAspectRatio="none" aria-hidden="true">
    <rect class="bed" width="200" height="8" />
    <rect class="metal" width=${200 * share} height="8" />
  </svg>`;
}

/** What can be pressed on a tank depends on whether it is free. */
export function isFree({ run }: TankSnapshot): boolean {
  return run === null || ['finished', 'stopped', 'tripped', 'interrupted'].includes(run.lifecycle);
}

/** How the line does, in one short sentence. */
export function linkHealth({ answerMs, timeouts, garbled }: TankSnapshot['link']): string {
  // To the next ten, so that it stands still while nothing changes.
  const answer = answerMs === null ? '' : exact(Math.max(10, 10 * Math.ceil(answerMs / 10)));
  return words.link.health(answer, timeouts, garbled);
}
