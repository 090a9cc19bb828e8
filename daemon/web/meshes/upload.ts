/** Takes in the bytes of a request under a hard limit, into memory that can be handed over. */

import { createHash } from 'node:crypto';
import type { MeshLimits } from '../../piece/mesh/model.ts';
import { tooBig } from '../../piece/mesh/formats.ts';

export interface Received {
  readonly bytes: Uint8Array<ArrayBuffer>;
  /** 64 hexadecimal digits. */
  readonly sha256: string;
}

const firstBytes = 256 * 1024;

/**
 * Reads a body to its end. What the client announced is a hint for the first size of the buffer and
 * nothing more. Throws MeshError as soon as more than the limit has come.
 */
export async function receive(
  body: ReadableStream<Uint8Array> | null,
  announcedBytes: number,
  limits: MeshLimits,
): Promise<Received> {
  const hash = createHash('sha256');
  if (body === null) return { bytes: new Uint8Array(0), sha256: hash.digest('hex') };
  const hint = announcedBytes > 0 && announcedBytes <= limits.maxBytes ? announcedBytes : 0;
  let buffer = new Uint8Array(Math.max(firstBytes, hint));
  let length = 0;
  const reader = body.getReader();
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      if (length + value.length > limits.maxBytes) throw tooBig(limits);
      if (length + value.length > buffer.length) {
        const wanted = Math.max(2 * buffer.length, length + value.length);
        const grown = new Uint8Array(Math.min(wanted, limits.maxBytes));
        grown.set(buffer.subarray(0, length));
        buffer = grown;
      }
      buffer.set(value, length);
      hash.update(value);
      length += value.length;
    }
  } finally {
    // The rest of what is too long is not taken in.
    await reader.cancel().catch(() => undefined);
  }
  return { bytes: buffer.subarray(0, length), sha256: hash.digest('hex') };
}
