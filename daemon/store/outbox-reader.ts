/** Reads the outbox: the history of deliveries, and what is known of each channel. */

import type Database from 'better-sqlite3';
import type { Delivery } from '../wire/alerts.ts';
import type { ChannelHistory } from './door.ts';

/** The latest first, of those before an id where one is given. */
export function deliveriesBefore(
  db: Database.Database,
  limit: number,
  beforeId = Number.MAX_SAFE_INTEGER,
): readonly Delivery[] {
  return db
    .prepare<[number, number], Delivery>(
      `SELECT outbox.number AS id, messages.id AS messageId, kind, priority, tank_id AS tankId,
         coalesce(replace(title, code, '····'), title) AS title,
         created_wall_ms AS createdWallMs, channel, state, tries, deliveries,
         due_wall_ms AS dueWallMs, delivered_wall_ms AS deliveredWallMs, last_error AS lastError,
         confirmed_wall_ms AS confirmedWallMs
       FROM outbox JOIN messages ON messages.number = outbox.message
       WHERE outbox.number < ? ORDER BY outbox.number DESC LIMIT ?`,
    )
    .all(beforeId, limit);
}

/** One row for each channel that was ever used, by its name. */
export function channelHistory(db: Database.Database): readonly ChannelHistory[] {
  const names = db
    .prepare<[], string>('SELECT DISTINCT channel FROM outbox ORDER BY channel')
    .pluck()
    .all();
  const tried = db.prepare<[string], { triedWallMs: number; lastError: string | null }>(
    `SELECT tried_wall_ms AS triedWallMs, last_error AS lastError FROM outbox
     WHERE channel = ? AND tried_wall_ms IS NOT NULL ORDER BY tried_wall_ms DESC LIMIT 1`,
  );
  const delivered = db
    .prepare<[string], number>('SELECT max(delivered_wall_ms) FROM outbox WHERE channel = ?')
    .pluck();
  const confirmed = db.prepare<[string], { wallMs: number; print: string }>(
    `SELECT confirmed_wall_ms AS wallMs, print FROM outbox
     WHERE channel = ? AND confirmed_wall_ms IS NOT NULL ORDER BY confirmed_wall_ms DESC LIMIT 1`,
  );
  return names.map((channel) => {
    const lastTry = tried.get(channel);
    const test = confirmed.get(channel);
    return {
      channel,
      triedWallMs: lastTry?.triedWallMs ?? null,
      lastError: lastTry?.lastError ?? null,
      deliveredWallMs: delivered.get(channel) ?? null,
      confirmedWallMs: test?.wallMs ?? null,
      confirmedPrint: test?.print ?? null,
    };
  });
}
