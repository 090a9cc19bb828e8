/** The way back on the Plan page: two buttons, their keys, and what they would do. */

import { html, type TemplateResult } from 'lit';
import type { History } from './plan-history.ts';
import { planWords } from '#words/plan';

/** Where text is typed, a browser has an undo of its own. */
function isTyping(target: EventTarget | null): boolean {
  const typed = 'input:not([type=checkbox], [type=range], [type=file]), textarea, select';
  return target instanceof Element && target.closest(`${typed}, [contenteditable]`) !== null;
}

/** Which way the keys of an undo ask to go; null for any other key, and while text is typed. */
export function isUndoKey(event: KeyboardEvent): 'undo' | 'redo' | null {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || isTyping(event.target)) return null;
  const key = event.key.toLowerCase();
  if (key === 'y') return 'redo';
  if (key !== 'z') return null;
  return event.shiftKey ? 'redo' : 'undo';
}

function tool(
  way: 'undo' | 'redo',
  label: string,
  what: string,
  blocked: boolean,
  press: () => void,
): TemplateResult {
  const id = `what-${way}`;
  return html`<button
      type="button"
      class="quiet"
      aria-describedby=${id}
      title=${what}
      aria-disabled=${blocked}
      @click=${press}
    >
      ${label}
    </button>
    <span class="unseen" id=${id}>${what}</span>`;
}

/** Both buttons; their descriptions say what they would do, or why they can do nothing. */
export function undoTools(
  { undoes, redoes }: Pick<History<unknown>, 'undoes' | 'redoes'>,
  step: (way: 'undo' | 'redo') => void,
  said: string,
): TemplateResult {
  const text = planWords;
  const undo = undoes === null ? text.nothingToUndo : text.undoes(undoes);
  const redo = redoes === null ? text.nothingToRedo : text.redoes(redoes);
  return html`<div class="undo-tools">
    ${tool('undo', text.undo, undo, undoes === null, () => step('undo'))}
    ${tool('redo', text.redo, redo, redoes === null, () => step('redo'))}
    <span class="aside said" role="status">${said}</span>
  </div>`;
}
