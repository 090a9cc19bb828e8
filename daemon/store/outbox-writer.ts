/** Writes the outbox: messages with a row for each channel, and what becomes of them. */

import type Database from 'better-sqlite3';
import type { AlertMessage } from '../wire/alerts.ts';
import type { ChannelHistory, DeliveryMark, OpenDelivery, Posting } from './door.ts';
import { channelHistory } from './outbox-reader.ts';

/** What the proxy can ask of the thread. */
export interface OutboxOperations {
  postMessage(posting: Posting): void;
  markDelivery(messageId: string, channel: string, mark: DeliveryMark): void;
  openDeliveries(): readonly OpenDelivery[];
  channelHistory(): readonly ChannelHistory[];
  confirmTest(
    code: string,
    wallMs: number,
    sinceWallMs: number,
  ): { readonly channel: string; readonly print: string } | null;
}

/** Inside of a transaction: the message and its rows. They are due at once. */
export function insertPosting(
  db: Database.Database,
  { message, channels }: Posting,
  eventId: number | null,
  alarmId: number | null,
): void {
  // A second try of the same writing, whose first answer was lost, adds nothing.
  const known = db
    .prepare<[string], number>('SELECT number FROM messages WHERE id = ?')
    .pluck()
    .get(message.id);
  if (known !== undefined) return;
  const { lastInsertRowid } = db
    .prepare(
      `INSERT INTO messages
         (id, event_id, alarm_id, kind, priority, tank_id, created_wall_ms, title, text, code)
       VALUES
         (@id, @eventId, @alarmId, @kind, @priority, @tankId, @createdWallMs, @title, @text, @code)`,
    )
    .run({ ...message, eventId, alarmId });
  const row = db.prepare(
    `INSERT INTO outbox (message, channel, print, state, due_wall_ms)
     VALUES (?, ?, ?, 'waiting', ?)`,
  );
  for (const { name, print } of channels) {
    row.run(lastInsertRowid, name, print, message.createdWallMs);
  }
}

/** Inside of a transaction: an alarm was acknowledged, and nothing more is said of it. */
export function withdrawOfAlarm(db: Database.Database, alarmId: number): void {
  db.prepare(
    `UPDATE outbox SET
       state = CASE WHEN deliveries > 0 THEN 'delivered' ELSE 'withdrawn' END, due_wall_ms = NULL
     WHERE due_wall_ms IS NOT NULL
       AND message IN (SELECT number FROM messages WHERE alarm_id = ?)`,
  ).run(alarmId);
}

type OpenRow = AlertMessage & Omit<OpenDelivery, 'message'>;

export class OutboxWriter implements OutboxOperations {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  postMessage(posting: Posting): void {
    this.#db.transaction(() => insertPosting(this.#db, posting, null, null)).immediate();
  }

  markDelivery(messageId: string, channel: string, mark: DeliveryMark): void {
    const write = this.#db.prepare(
      `UPDATE outbox SET
         state = @state, tries = @tries, failures = @failures, deliveries = @deliveries,
         due_wall_ms = @dueWallMs, tried_wall_ms = @triedWallMs,
         delivered_wall_ms = @deliveredWallMs, last_error = @lastError
       WHERE channel = @channel AND message = (SELECT number FROM messages WHERE id = @messageId)`,
    );
    this.#db.transaction(() => write.run({ ...mark, messageId, channel })).immediate();
  }

  openDeliveries(): readonly OpenDelivery[] {
    const rows = this.#db
      .prepare<[], OpenRow>(
        `SELECT messages.id AS id, kind, priority, tank_id AS tankId,
           created_wall_ms AS createdWallMs, title, text, code, alarm_id AS alarmId, channel, state,
           tries, failures, deliveries, due_wall_ms AS dueWallMs, tried_wall_ms AS triedWallMs,
           delivered_wall_ms AS deliveredWallMs, last_error AS lastError
         FROM outbox JOIN messages ON messages.number = outbox.message
         WHERE due_wall_ms IS NOT NULL ORDER BY outbox.number`,
      )
      .all();
    return rows.map(
      ({ id, kind, priority, tankId, createdWallMs, title, text, code, ...rest }) => ({
        ...rest,
        message: { id, kind, priority, tankId, createdWallMs, title, text, code },
      }),
    );
  }

  channelHistory(): readonly ChannelHistory[] {
    return channelHistory(this.#db);
  }

  confirmTest(
    code: string,
    wallMs: number,
    sinceWallMs: number,
  ): { readonly channel: string; readonly print: string } | null {
    return this.#db
      .transaction(() => {
        const found = this.#db
          .prepare<[string, number], { number: number; channel: string; print: string }>(
            `SELECT outbox.number AS number, channel, print
             FROM outbox JOIN messages ON messages.number = outbox.message
             WHERE code = ? AND created_wall_ms >= ? ORDER BY outbox.number DESC LIMIT 1`,
          )
          .get(code, sinceWallMs);
        if (found === undefined) return null;
        // A test that is known to have arrived is not sent once more.
        this.#db
          .prepare(
            `UPDATE outbox SET confirmed_wall_ms = ?, due_wall_ms = NULL, state = 'delivered'
             WHERE number = ?`,
          )
          .run(wallMs, found.number);
        return { channel: found.channel, print: found.print };
      })
      .immediate();
  }
}
