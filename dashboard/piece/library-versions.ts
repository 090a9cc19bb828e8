/** The versions of a saved piece, the newest first. */

import { html, type TemplateResult } from 'lit';
import type { PieceSummary } from '../../daemon/wire/library.ts';
import { dayAndTime, list, threeDigits } from '../format.ts';
import { libraryWords } from '#words/library';

/** The area of a piece as the library tells it. */
export const area = (mm2: number): string => `${threeDigits(mm2 / 100)} cm²`;

/** `press` makes the button that opens one of them. */
export function versionList(
  versions: readonly PieceSummary[],
  name: string,
  press: (one: PieceSummary) => TemplateResult,
): TemplateResult {
  return html`<ul class="versions" aria-label=${libraryWords.versionsOf(name)}>
    ${versions.map(
      (one) =>
        html`<li>
          ${press(one)}
          <span class="aside">
            ${list([dayAndTime(one.savedWallMs), one.name, area(one.areaMm2)])}
          </span>
        </li>`,
    )}
  </ul>`;
}
