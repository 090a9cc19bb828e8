/** Bodies and headers with placeholders: filled in for text and for JSON, and judged before they are used. */

import type { AlarmPriority } from '../run/model.ts';

export const placeholders = ['title', 'text', 'priority', 'tank', 'time', 'id', 'studio'] as const;
export type Filling = Readonly<Record<(typeof placeholders)[number], string>>;

const placeholder = /\{([a-zA-Z]+)\}/g;

function isKnown(name: string): name is keyof Filling {
  return placeholders.some((one) => one === name);
}

/** Inside of a JSON text: nothing that is filled in can end the text around it. */
function escapedForJson(value: string): string {
  return JSON.stringify(value).slice(1, -1);
}

/** The template with its placeholders filled in, once: what a value holds is never filled in again. */
export function fillTemplate(template: string, format: 'text' | 'json', filling: Filling): string {
  return template.replaceAll(placeholder, (whole, name: string) => {
    if (!isKnown(name)) return whole;
    return format === 'json' ? escapedForJson(filling[name]) : filling[name];
  });
}

/** One of the kind that breaks what is not escaped. */
const nasty = 'A "quoted" \\ text\nof two lines, {title}';

/** What the template must be, or null where it is that already. */
export function templateProblem(
  template: string,
  format: 'text' | 'json',
  priorityWords: Readonly<Record<AlarmPriority, string>> | null,
): string | null {
  for (const [, name = ''] of template.matchAll(placeholder)) {
    if (!isKnown(name)) {
      const known = placeholders.map((one) => `{${one}}`).join(', ');
      return `a text with no other placeholders than ${known}`;
    }
  }
  if (format === 'text') return null;
  const words = priorityWords === null ? [nasty] : Object.values(priorityWords);
  const well = words.every((priority) => {
    const filling = {
      title: nasty,
      text: nasty,
      tank: nasty,
      time: nasty,
      id: nasty,
      studio: nasty,
    };
    try {
      JSON.parse(fillTemplate(template, 'json', { ...filling, priority }));
      return true;
    } catch {
      return false;
    }
  });
  return well ? null : 'JSON, with the placeholders inside of quotation marks';
}
