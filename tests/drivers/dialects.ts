/** The shipped dialect files, as the settings would hand them to a driver. */

import { readdirSync, readFileSync } from 'node:fs';
import { parse } from 'smol-toml';
import { parseDialect } from '../../drivers/scpi/dialect.ts';
import type { Dialect } from '../../drivers/scpi/dialect-schema.ts';

const folder = new URL('../../config/dialects/', import.meta.url);

/** Names of the shipped dialects, sorted. */
export const shippedDialects: readonly string[] = readdirSync(folder)
  .filter((file) => file.endsWith('.toml'))
  .map((file) => file.slice(0, -'.toml'.length))
  .toSorted();

/** The content of a shipped dialect file, not judged yet. */
export function rawDialect(name: string): Record<string, unknown> {
  return parse(readFileSync(new URL(`${name}.toml`, folder), 'utf8'));
}

/** A shipped dialect. */
export function dialect(name: string): Dialect {
  return parseDialect(rawDialect(name));
}
