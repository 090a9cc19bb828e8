/** The list of what happened: in the order of the times that stand in it, whatever order it was written in. */

import { expect, it } from 'vitest';
import type { EventRow } from '../../daemon/wire/run.ts';
import { eventList } from '../../dashboard/event-list.ts';
import { shownBy } from './templates.ts';

const event = (id: number, minutes: number, message: string): EventRow => ({
  id,
  runId: 'r',
  tankId: 'beaker',
  atMs: minutes * 60_000,
  wallMs: Date.UTC(2026, 0, 2, 22) + minutes * 60_000,
  code: 'note',
  message,
});

const written = [
  event(1, 0, 'first'),
  event(2, 90, 'fourth'),
  event(4, 43, 'third'),
  event(3, 43, 'second'),
];

function order(view: unknown): readonly (string | undefined)[] {
  return [...shownBy(view).matchAll(/<span>(\w+)<\/span>/g)].map(([, message]) => message);
}

it('is by time, then as written; newest first where a run is on', () => {
  const played = eventList(written, () => undefined);
  expect(order(played)).toEqual(['first', 'second', 'third', 'fourth']);
  expect(order(eventList(written, null))).toEqual(['fourth', 'third', 'second', 'first']);
});
