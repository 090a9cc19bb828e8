/** The tracer and the mesh reader, fetched when a part first needs them. */

import { html, type TemplateResult } from 'lit';
import { words } from '../words.ts';
import { onPart, nameOf, type PartPlace } from './part-place.ts';
import { problemText, type PieceForm } from './piece-form.ts';

export function traceSlot(form: PieceForm, place: PartPlace): TemplateResult {
  return html`<p class="aside">${words.piece.trace.none} ${place.path} ${form.focused}</p>`;
}
export function meshSlot(form: PieceForm, place: PartPlace): TemplateResult {
  void onPart;
  void nameOf;
  void problemText;
  return html`<p class="aside">${words.piece.mesh.none} ${place.path} ${form.focused}</p>`;
}
