/** The base of all components: they render into the page itself, so one stylesheet serves them all. */

import { LitElement, html, type TemplateResult } from 'lit';
import type { Figure } from './format.ts';

/** Labels, ids and styles must reach across components, so there are no shadow roots. */
export class NightElement extends LitElement {
  protected override createRenderRoot(): HTMLElement {
    return this;
  }
}

/** A number with its unit set smaller. */
export function figure({ text, unit }: Figure): TemplateResult {
  return html`<span class="figure">${text}<small> ${unit}</small></span>`;
}

interface ButtonOptions {
  readonly reason?: string;
  readonly id?: string;
  readonly strong?: boolean;
  readonly fast?: boolean;
}

/** A page's heading; it takes the focus after a move. */
export function heading(text: unknown): TemplateResult {
  return html`<h1 tabindex="-1">${text}</h1>`;
}

/** One labelled number of a list of numbers. */
export function fact(label: unknown, value: unknown, note: unknown = ''): TemplateResult {
  return html`<div class="fact">
    <dt>${label}</dt>
    <dd>${value}</dd>
    <dd class="aside">${note}</dd>
  </div>`;
}

/** Whether a click is the second of a double click, which is meant as one press. */
export function isSecondClick(event: Event): boolean {
  return event instanceof MouseEvent && event.detail > 1;
}

/**
 * A button that says under itself why it cannot be pressed; an empty reason enables it. A double click is
 * one press, except on what is for pressing fast.
 */
export function button(
  label: string,
  press: () => void,
  { reason = '', id = '', strong = false, fast = false }: ButtonOptions = {},
): TemplateResult {
  const blocked = reason !== '';
  return html`<span class="press">
    <button
      type="button"
      class=${strong ? 'strong' : ''}
      aria-disabled=${blocked}
      aria-describedby=${id}
      @click=${(event: Event) => {
        if (!blocked && (fast || !isSecondClick(event))) press();
      }}
    >
      ${label}
    </button>
    <span class="why" id=${id}>${reason}</span>
  </span>`;
}

/** An id that a field path can have in the page. */
export function fieldId(path: string): string {
  return `field-${path.replaceAll(/[^a-z0-9]+/gi, '-')}`;
}
