/** How many connections are open at once, and who gives way: strangers to newcomers, nobody who was let in. */

import type { Socket } from 'node:net';

interface Guest {
  readonly socket: Socket;
  readonly group: string;
  /** Its caller was found to have a role. */
  known: boolean;
}

/** Both ends of a connection: they name it on its bare socket and on the TLS one around that. */
export function endsOf({ localAddress, remoteAddress, remotePort }: Socket): string {
  return `${localAddress} ${remoteAddress} ${remotePort}`;
}

/** Whoever has one address of an IPv6 network has them all. */
function groupOf(address: string | undefined): string {
  const given = address ?? '';
  return given.includes(':') && !given.includes('.')
    ? given.split(':').slice(0, 4).join(':')
    : given;
}

/**
 * The connections of one listener. Where all places are taken, a newcomer is let in and the oldest
 * connection that nobody has vouched for is ended, of the address that has the most of them: somebody
 * who fills the places fills them against himself, and who signs in needs one for a moment only.
 */
export class AcceptBook {
  readonly #most: number;
  readonly #guests = new Map<string, Guest>();

  constructor(most: number) {
    this.#most = most;
  }

  get size(): number {
    return this.#guests.size;
  }

  arrive(socket: Socket): void {
    const key = endsOf(socket);
    const guest: Guest = { socket, group: groupOf(socket.remoteAddress), known: false };
    this.#guests.set(key, guest);
    socket.once('close', () => {
      if (this.#guests.get(key) === guest) this.#guests.delete(key);
    });
    if (this.#guests.size > this.#most) this.#makeRoom();
  }

  /** The caller on this connection may be here: it gives way to nobody. */
  vouch(socket: Socket): void {
    const guest = this.#guests.get(endsOf(socket));
    if (guest !== undefined) guest.known = true;
  }

  #makeRoom(): void {
    const counts = new Map<string, number>();
    for (const { group, known } of this.#guests.values()) {
      if (!known) counts.set(group, (counts.get(group) ?? 0) + 1);
    }
    const largest = [...counts].reduce<readonly [string, number]>(
      (most, one) => (one[1] > most[1] ? one : most),
      ['', 0],
    )[0];
    // In the order in which they came; where everybody is known, that is the newcomer.
    for (const [key, { socket, group, known }] of this.#guests) {
      if (known || group !== largest) continue;
      this.#guests.delete(key);
      socket.destroy();
      return;
    }
  }
}
