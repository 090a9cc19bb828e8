/** Baths and dialects as they are shipped, read once. */

import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'smol-toml';
import { bathSchema } from '../../daemon/wire/plan.ts';
import { parseDialect } from '../../drivers/scpi/dialect.ts';
import type { Library } from './night.ts';

function filesIn(folder: string): readonly (readonly [string, unknown])[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.toml'))
    .map((name) => [name.slice(0, -5), parse(readFileSync(join(folder, name), 'utf8'))] as const);
}

/** From the root of the repository. */
export function readLibrary(root: string): Library {
  const baths = filesIn(join(root, 'config/baths')).map(([, raw]) => bathSchema.parse(raw));
  const dialects = Object.fromEntries(
    filesIn(join(root, 'config/dialects')).map(([name, raw]) => [name, parseDialect(raw)]),
  );
  return { baths, dialects };
}
