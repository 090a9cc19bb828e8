/** Builds 3MF packages for tests, whole ones and such as nobody should send. */

import { deflateSync, strToU8, zipSync } from 'fflate';
import type { Zippable } from 'fflate';
import { simpleModel } from '../../piece/mesh/bodies.ts';
import type { Body } from '../../piece/mesh/bodies.ts';

const relationships = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/>
</Relationships>`;

/** A package as writers of 3MF make it. */
export function threeMf(model: Body | string, more: Zippable = {}): Uint8Array {
  const xml = typeof model === 'string' ? model : simpleModel(model);
  return zipSync({
    '[Content_Types].xml': strToU8('<Types/>'),
    '_rels/.rels': strToU8(relationships),
    '3D/3dmodel.model': strToU8(xml),
    ...more,
  });
}

interface RawEntry {
  readonly name: string;
  readonly data: Uint8Array;
  readonly flags?: number;
  readonly method?: number;
  /** What the list says in place of the truth. */
  readonly inflatedBytes?: number;
  readonly crc?: number;
  readonly packed?: Uint8Array;
  readonly offset?: number;
}

/** A zip file written by hand, field by field, so that any of them can lie. */
export function rawZip(entries: readonly RawEntry[], count = entries.length): Uint8Array {
  const parts: Uint8Array[] = [];
  const list: Uint8Array[] = [];
  let offset = 0;
  for (const entry of entries) {
    const name = strToU8(entry.name);
    const method = entry.method ?? 8;
    const packed = entry.packed ?? (method === 8 ? deflateSync(entry.data) : entry.data);
    const fields = new DataView(new ArrayBuffer(26));
    fields.setUint16(0, 20, true);
    fields.setUint16(2, entry.flags ?? 0, true);
    fields.setUint16(4, method, true);
    fields.setUint32(10, entry.crc ?? crcOf(entry.data), true);
    fields.setUint32(14, packed.length, true);
    fields.setUint32(18, entry.inflatedBytes ?? entry.data.length, true);
    fields.setUint16(22, name.length, true);
    const common = new Uint8Array(fields.buffer);
    const local = joined([Uint8Array.of(0x50, 0x4b, 3, 4), common, name, packed]);
    const tail = new DataView(new ArrayBuffer(14));
    tail.setUint32(10, entry.offset ?? offset, true);
    list.push(
      joined([Uint8Array.of(0x50, 0x4b, 1, 2, 20, 0), common, new Uint8Array(tail.buffer), name]),
    );
    parts.push(local);
    offset += local.length;
  }
  const directory = joined(list);
  const end = new DataView(new ArrayBuffer(22));
  end.setUint32(0, 0x06054b50, true);
  end.setUint16(8, count, true);
  end.setUint16(10, count, true);
  end.setUint32(12, directory.length, true);
  end.setUint32(16, offset, true);
  return joined([...parts, directory, new Uint8Array(end.buffer)]);
}

export function joined(parts: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/** The checksum as the zip format defines it, bit by bit. */
function crcOf(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1)
      crc = (crc & 1) === 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}
