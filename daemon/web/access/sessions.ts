/** Who is signed in: random tokens, kept only as hashes, that end when they are old or unused. */

import { createHash, randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import * as z from 'zod/mini';
import { writePrivateFile } from '../../settings/door.ts';
import { roleSchema } from '../../wire/session.ts';
import type { Role } from '../../wire/roles.ts';
import { neighbourhood } from './attempts.ts';

const hourMs = 3_600_000;
/** A phone that was out of reach for a day has to sign in again; a page that is open counts as use. */
export const idleMs = 24 * hourMs;
/** However much it is used. */
export const lifetimeMs = 7 * 24 * hourMs;
/** More than a studio has phones. Each role has as many, so that none can push out another. */
export const mostSessionsOfRole = 50;
/** Its last use reaches the disk this often. */
const saveUseMs = 60_000;

const sessionSchema = z.strictObject({
  /** A name for it that opens nothing. */
  id: z.string(),
  role: roleSchema,
  name: z.string(),
  /** Where it was opened from. */
  address: z.string(),
  openedWallMs: z.number(),
  seenWallMs: z.number(),
  /** Tells the passphrase that opened it from a later one. */
  mark: z.string(),
});
export type Session = z.infer<typeof sessionSchema>;

const fileSchema = z.strictObject({
  version: z.literal(1),
  sessions: z.array(z.strictObject({ hash: z.string(), session: sessionSchema })),
});

export interface SessionBookParts {
  /** Null keeps them in memory only. */
  readonly file: string | null;
  /** Wall time: sessions outlive the process. */
  readonly nowMs: () => number;
  /** The mark of the passphrase of a role as it is now; null where none is set. */
  readonly markOf: (role: Role) => string | null;
  readonly warn: (error: unknown, sentence: string) => void;
}

export class SessionBook {
  readonly #parts: SessionBookParts;
  readonly #byHash = new Map<string, Session>();
  readonly #listeners = new Set<(id: string) => void>();
  #savedMs = 0;

  constructor(parts: SessionBookParts) {
    this.#parts = parts;
    this.#load();
  }

  /** A new session; its token is told this once and kept nowhere. */
  open(role: Role, name: string, address: string): { token: string; session: Session } {
    const token = randomBytes(32).toString('base64url');
    const now = this.#parts.nowMs();
    const session: Session = {
      id: randomBytes(8).toString('hex'),
      role,
      name,
      address,
      openedWallMs: now,
      seenWallMs: now,
      mark: this.#parts.markOf(role) ?? '',
    };
    this.#makeRoom(role, address);
    this.#byHash.set(hashOf(token), session);
    this.#save();
    return { token, session };
  }

  /** The session of a token, which counts as used now; null for one that is unknown or over. */
  find(token: string): Session | null {
    // A hash as the key: how long the look-up takes tells nothing about the token.
    const hash = hashOf(token);
    const session = this.#byHash.get(hash);
    if (session === undefined) return null;
    if (!this.#holds(session)) {
      this.#drop([hash]);
      return null;
    }
    this.#use(session);
    return session;
  }

  /** Whether it still holds; an open page keeps it in use. */
  keepsUp(id: string): boolean {
    const session = this.all().find((one) => one.id === id);
    if (session !== undefined) this.#use(session);
    return session !== undefined;
  }

  /** Those that hold now. */
  all(): readonly Session[] {
    this.#drop([...this.#byHash].flatMap(([hash, one]) => (this.#holds(one) ? [] : [hash])));
    return [...this.#byHash.values()];
  }

  close(id: string): void {
    this.#drop([...this.#byHash].flatMap(([hash, one]) => (one.id === id ? [hash] : [])));
  }

  closeAll(): void {
    this.#drop([...this.#byHash.keys()]);
  }

  /** Hears of every session that ends. */
  onClosed(listener: (id: string) => void): void {
    this.#listeners.add(listener);
  }

  endsWallMs({ openedWallMs }: Session): number {
    return openedWallMs + lifetimeMs;
  }

  #holds({ openedWallMs, seenWallMs, role, mark }: Session): boolean {
    const now = this.#parts.nowMs();
    // A small board without a clock of its own wakes up in the past: that signs nobody out.
    const inTime = now - openedWallMs < lifetimeMs && now - seenWallMs < idleMs;
    return inTime && mark !== '' && mark === this.#parts.markOf(role);
  }

  #use(session: Session): void {
    const now = this.#parts.nowMs();
    session.seenWallMs = Math.max(session.seenWallMs, now);
    if (Math.abs(now - this.#savedMs) > saveUseMs) this.#save();
  }

  #drop(hashes: readonly string[]): void {
    if (hashes.length === 0) return;
    const ended = hashes.flatMap((hash) => this.#byHash.get(hash)?.id ?? []);
    for (const hash of hashes) this.#byHash.delete(hash);
    this.#save();
    for (const id of ended) for (const listener of this.#listeners) listener(id);
  }

  /** One of the same role goes, of the place with the most of them: that which was unused for longest. */
  #makeRoom(role: Role, address: string): void {
    const others = this.all().filter((session) => session.role === role);
    const over = others.length + 1 - mostSessionsOfRole;
    if (over <= 0) return;
    const places = [address, ...others.map((session) => session.address)].map(neighbourhood);
    const crowd = ({ address: from }: Session): number =>
      places.filter((place) => place === neighbourhood(from)).length;
    const order = others.toSorted(
      (left, right) => crowd(right) - crowd(left) || left.seenWallMs - right.seenWallMs,
    );
    for (const { id } of order.slice(0, over)) this.close(id);
  }

  #load(): void {
    const { file, warn } = this.#parts;
    if (file === null) return;
    try {
      const { sessions } = fileSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
      for (const { hash, session } of sessions) {
        if (this.#holds(session)) this.#byHash.set(hash, session);
      }
    } catch (error) {
      if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return;
      warn(error, 'Who was signed in cannot be read; everybody signs in anew.');
    }
  }

  #save(): void {
    const { file, nowMs, warn } = this.#parts;
    this.#savedMs = nowMs();
    if (file === null) return;
    const sessions = [...this.#byHash].map(([hash, session]) => ({ hash, session }));
    try {
      writePrivateFile(file, `${JSON.stringify({ version: 1, sessions })}\n`);
    } catch (error) {
      warn(error, 'Who is signed in cannot be kept; after a restart everybody signs in anew.');
    }
  }
}

function hashOf(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}
