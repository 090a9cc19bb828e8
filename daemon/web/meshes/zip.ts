/** Opens a zip package under bounds: names, entries, sizes and ratios are checked while unpacking. */

import { Inflate } from 'fflate';
import { MeshError, refuse } from '../../piece/mesh/model.ts';

export interface ZipLimits {
  readonly maxEntries: number;
  /** Of everything unpacked together, bytes. */
  readonly maxInflatedBytes: number;
  /** Unpacked over packed bytes of an entry. Text of meshes packs 5 to 30 times smaller. */
  readonly maxRatio: number;
}

export const zipLimits: ZipLimits = {
  maxEntries: 1000,
  maxInflatedBytes: 400_000_000,
  maxRatio: 200,
};

/** Below this many bytes a high ratio harms nobody. */
const ratioFromBytes = 1_000_000;
/** Packed bytes unpacked at a time: deflate makes at most 1032 times as many of them. */
const stepBytes = 16 * 1024;

const endSignature = 0x06054b50;
const end64Signature = 0x06064b50;
const locator64Signature = 0x07064b50;
const centralSignature = 0x02014b50;
const localSignature = 0x04034b50;
const endBytes = 22;
const maxCommentBytes = 0xffff;
const whole32 = 0xffffffff;

interface Entry {
  readonly name: string;
  readonly method: number;
  readonly crc: number;
  readonly packedBytes: number;
  readonly inflatedBytes: number;
  readonly offset: number;
}

/** A package whose list of entries has been checked. */
export class ZipPackage {
  readonly #bytes: Uint8Array;
  readonly #view: DataView;
  readonly #limits: ZipLimits;
  readonly #entries = new Map<string, Entry>();
  #inflatedBytes = 0;

  /** Throws MeshError for a list that is broken, encrypted, unsafe or beyond the limits. */
  constructor(bytes: Uint8Array, limits: ZipLimits = zipLimits) {
    this.#bytes = bytes;
    this.#view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.#limits = limits;
    try {
      this.#readEntries();
    } catch (error) {
      // A place beyond the end of the file.
      if (error instanceof RangeError) throw broken('its list of entries', 'is cut off');
      throw error;
    }
    this.#requireApart();
  }

  /** The unpacked bytes of the entry at an absolute path, whatever its case; null without one. */
  read(path: string): Uint8Array | null {
    const entry = this.#entries.get(path.replace(/^\//, '').toLowerCase());
    if (entry === undefined) return null;
    const packed = this.#packedBytes(entry);
    const result = entry.method === 0 ? this.#stored(entry, packed) : this.#inflate(entry, packed);
    if (crc32(result) !== entry.crc) throw broken(entry.name, 'does not match its checksum');
    return result;
  }

  #readEntries(): void {
    const view = this.#view;
    const { count, start } = this.#findList();
    if (count > this.#limits.maxEntries) {
      const most = this.#limits.maxEntries;
      const message = `The package lists ${count} entries; at most ${most} are read.`;
      throw refuse('zipBomb', 'entries', count, `at most ${most}`, message);
    }
    let at = start;
    let declared = 0;
    for (let index = 0; index < count; index += 1) {
      if (view.getUint32(at, true) !== centralSignature) {
        throw broken('its list of entries', 'is damaged');
      }
      const nameBytes = view.getUint16(at + 28, true);
      const extraBytes = view.getUint16(at + 30, true);
      const entry = this.#entryAt(at, nameBytes, extraBytes);
      declared += entry.inflatedBytes;
      this.#requireSize(declared);
      const key = entry.name.toLowerCase();
      if (this.#entries.has(key)) throw broken(entry.name, 'is listed twice');
      if (!entry.name.endsWith('/')) this.#entries.set(key, entry);
      at += 46 + nameBytes + extraBytes + view.getUint16(at + 32, true);
    }
  }

  #entryAt(at: number, nameBytes: number, extraBytes: number): Entry {
    const view = this.#view;
    const raw = this.#bytes.subarray(at + 46, at + 46 + nameBytes);
    if (raw.length !== nameBytes) throw broken('its list of entries', 'is cut off');
    const name = safeName(new TextDecoder().decode(raw));
    const flags = view.getUint16(at + 8, true);
    // Bit 0: the entry is encrypted; bit 13: the list itself is masked.
    if ((flags & 0x2001) !== 0) {
      const message = `The entry ${name} of the package is encrypted. Save it without a password.`;
      throw refuse('encrypted', name, 'encrypted', 'not encrypted', message);
    }
    const sizes = [view.getUint32(at + 24, true), view.getUint32(at + 20, true)];
    const placed = [...sizes, view.getUint32(at + 42, true)];
    const [inflatedBytes = 0, packedBytes = 0, offset = 0] = this.#wide(
      placed,
      at + 46 + nameBytes,
      extraBytes,
    );
    const method = view.getUint16(at + 10, true);
    return { name, method, crc: view.getUint32(at + 16, true), packedBytes, inflatedBytes, offset };
  }

  /** Numbers that need 64 bits stand in an extra field, in this order. */
  #wide(values: readonly number[], start: number, extraBytes: number): readonly number[] {
    if (!values.includes(whole32)) return values;
    const view = this.#view;
    for (let at = start; at + 4 <= start + extraBytes; at += 4 + view.getUint16(at + 2, true)) {
      if (view.getUint16(at, true) !== 1) continue;
      let from = at + 4;
      return values.map((value) => {
        if (value !== whole32) return value;
        from += 8;
        return Number(view.getBigUint64(from - 8, true));
      });
    }
    return values;
  }

  #findList(): { readonly count: number; readonly start: number } {
    const view = this.#view;
    const last = this.#bytes.length - endBytes;
    for (let at = last; at >= 0 && at >= last - maxCommentBytes; at -= 1) {
      if (view.getUint32(at, true) !== endSignature) continue;
      if (at + endBytes + view.getUint16(at + 20, true) !== this.#bytes.length) continue;
      const count = view.getUint16(at + 10, true);
      const start = view.getUint32(at + 16, true);
      if (count !== 0xffff && start !== whole32) return { count, start };
      if (at < 20 || view.getUint32(at - 20, true) !== locator64Signature) break;
      const wide = Number(view.getBigUint64(at - 12, true));
      if (view.getUint32(wide, true) !== end64Signature) break;
      return {
        count: Number(view.getBigUint64(wide + 32, true)),
        start: Number(view.getBigUint64(wide + 48, true)),
      };
    }
    const message = 'The package ends without its list of entries: it is cut off or no zip file.';
    throw refuse('truncated', 'package', 'no list of entries', 'a zip package', message);
  }

  /** Entries that share bytes unpack to far more than the file holds. */
  #requireApart(): void {
    const inOrder = [...this.#entries.values()].toSorted((a, b) => a.offset - b.offset);
    let free = 0;
    for (const { name, offset, packedBytes } of inOrder) {
      if (offset < free) {
        const message = `The entry ${name} of the package shares its bytes with another.`;
        throw refuse('zipBomb', name, 'overlapping', 'bytes of its own', message);
      }
      free = offset + 30 + packedBytes;
      if (free > this.#bytes.length) throw broken(name, 'lies beyond the end of the file');
    }
  }

  #packedBytes({ name, offset, packedBytes }: Entry): Uint8Array {
    const view = this.#view;
    if (view.getUint32(offset, true) !== localSignature) throw broken(name, 'is damaged');
    const names = view.getUint16(offset + 26, true) + view.getUint16(offset + 28, true);
    const start = offset + 30 + names;
    const packed = this.#bytes.subarray(start, start + packedBytes);
    if (packed.length !== packedBytes) throw broken(name, 'is cut off');
    return packed;
  }

  #stored(entry: Entry, packed: Uint8Array): Uint8Array {
    if (packed.length !== entry.inflatedBytes) throw broken(entry.name, 'has another size');
    this.#count(packed.length);
    return packed;
  }

  #inflate(entry: Entry, packed: Uint8Array): Uint8Array {
    const { name, method, inflatedBytes } = entry;
    if (method !== 8) {
      const message = `The entry ${name} of the package is packed by method ${method}; only deflate is read.`;
      throw refuse('unsupported', name, `method ${method}`, 'stored or deflate', message);
    }
    // Memory that is not written to is not taken, so a false size costs nothing.
    const result = new Uint8Array(inflatedBytes);
    let made = 0;
    let taken = 0;
    const inflate = new Inflate((chunk) => {
      if (made + chunk.length > inflatedBytes) throw tooMuch(name, `over ${inflatedBytes}`);
      this.#count(chunk.length);
      result.set(chunk, made);
      made += chunk.length;
      if (made > ratioFromBytes && made > this.#limits.maxRatio * taken) {
        const most = this.#limits.maxRatio;
        const message = `The entry ${name} of the package unpacks to over ${most} times its size.`;
        throw refuse('zipBomb', name, `over ${most} times`, `at most ${most} times`, message);
      }
    });
    try {
      for (let at = 0; at < packed.length; at += stepBytes) {
        const step = packed.subarray(at, at + stepBytes);
        taken += step.length;
        inflate.push(step, taken === packed.length);
      }
    } catch (error) {
      if (error instanceof MeshError) throw error;
      throw broken(name, 'cannot be unpacked');
    }
    if (made !== inflatedBytes) throw broken(name, 'unpacks to another size');
    return result;
  }

  #count(bytes: number): void {
    this.#inflatedBytes += bytes;
    this.#requireSize(this.#inflatedBytes);
  }

  #requireSize(bytes: number): void {
    if (bytes <= this.#limits.maxInflatedBytes) return;
    const most = `${this.#limits.maxInflatedBytes / 1e6} MB`;
    const message = `The package unpacks to more than ${most}.`;
    throw refuse('zipBomb', 'package', `over ${most}`, `at most ${most}`, message);
  }
}

function tooMuch(name: string, value: string): MeshError {
  const message = `The entry ${name} of the package unpacks to more than it says.`;
  return refuse('zipBomb', name, `${value} bytes`, 'the size it states', message);
}

function broken(name: string, what: string): MeshError {
  const message = `The package is broken: ${name} ${what}. Export it again.`;
  return refuse('broken', name, what, 'a whole package', message);
}

/** Nothing is written by name here, but a name that climbs out of its folder is no honest one. */
function safeName(name: string): string {
  const unsafe =
    name === '' ||
    name.startsWith('/') ||
    // oxlint-disable-next-line no-control-regex -- control characters are what is looked for.
    /[\\:\u0000-\u001f]/.test(name) ||
    name.split('/').includes('..');
  if (!unsafe) return name;
  const shown = JSON.stringify(name.slice(0, 60));
  const message = `The package has an entry with an unsafe name: ${shown}.`;
  throw refuse('unsafeName', 'entry', shown, 'a path inside the package', message);
}

const crcTable = Uint32Array.from({ length: 256 }, (_, index) => {
  let value = index;
  for (let bit = 0; bit < 8; bit += 1) {
    value = (value & 1) === 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  }
  return value;
});

function crc32(bytes: Uint8Array): number {
  let crc = whole32;
  for (let at = 0; at < bytes.length; at += 1) {
    crc = (crcTable[(crc ^ (bytes[at] as number)) & 0xff] as number) ^ (crc >>> 8);
  }
  return (crc ^ whole32) >>> 0;
}
