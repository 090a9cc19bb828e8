/** What a channel is handed: a message, or several as one, in the words of this one try. Pure. */

import type { AlertMessage } from '../wire/alerts.ts';

export interface Letter {
  /** The same for every copy of a message. */
  readonly id: string;
  /** How often the channel took it before; with the id this tells one saying from the next. */
  readonly saying: number;
  readonly priority: AlertMessage['priority'];
  readonly tankId: string | null;
  readonly wallMs: number;
  readonly title: string;
  readonly text: string;
}

/** From here on it is told that a message comes late. */
const lateMs = 10 * 60_000;

/** The local time of day, or with its day where that is another one. */
export function timeOf(wallMs: number, nowWallMs: number): string {
  const at = new Date(wallMs);
  const two = (value: number) => String(value).padStart(2, '0');
  const clock = `${two(at.getHours())}:${two(at.getMinutes())}`;
  if (at.toDateString() === new Date(nowWallMs).toDateString()) return clock;
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${clock}`;
}

/** One message as it is said for the `saying`th time, counted from 0. */
export function letterOf(message: AlertMessage, saying: number, nowWallMs: number): Letter {
  const { id, priority, tankId, createdWallMs, title, text } = message;
  const when = timeOf(createdWallMs, nowWallMs);
  const late = saying === 0 && nowWallMs - createdWallMs >= lateMs;
  const lines = [
    text,
    saying > 0 ? `Not acknowledged yet; said for the first time at ${when}.` : '',
    late ? `This comes late: it is of ${when}.` : '',
    `Message ${id}`,
  ];
  return {
    id,
    saying,
    priority,
    tankId,
    wallMs: createdWallMs,
    title: saying > 0 ? `Still: ${title}` : title,
    text: lines.filter((line) => line !== '').join('\n'),
  };
}

/** Of more messages than this, a digest lists only the first ones. */
const mostListed = 20;

const gravest = ['stopped', 'act-soon', 'note'] as const;

/** Several messages as one, the earliest first. */
export function digestOf(messages: readonly AlertMessage[], nowWallMs: number): Letter {
  const sorted = messages.toSorted((a, b) => a.createdWallMs - b.createdWallMs);
  const first = sorted[0];
  const list = sorted
    .slice(0, mostListed)
    .map(({ createdWallMs, title, id }) => `${timeOf(createdWallMs, nowWallMs)} ${title} (${id})`);
  if (sorted.length > mostListed) list.push(`and ${sorted.length - mostListed} more on the page`);
  const id = `${first?.id ?? 'none'}-and-${sorted.length - 1}`;
  return {
    id,
    saying: 0,
    priority: gravest.find((one) => sorted.some(({ priority }) => priority === one)) ?? 'note',
    tankId: null,
    wallMs: first?.createdWallMs ?? nowWallMs,
    title: `${sorted.length} messages within a short time`,
    text: [...list, 'The page has all that they say.', `Message ${id}`].join('\n'),
  };
}
