/** The shipped bench.toml: its schema for editors is current, its examples load, its demo is quick. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { format } from 'prettier';
import { afterAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { loadSettings, packageRoot, settingsSchema } from '../../daemon/settings/door.ts';
import { BenchFolder } from './bench-folder.ts';

const shipped = readFileSync(join(packageRoot(), 'config', 'bench.toml'), 'utf8');
const folder = new BenchFolder();
afterAll(() => folder.remove());

describe('the shipped settings', () => {
  it('are described by a schema that is current (`npx vitest run -u tests/settings` renews it)', async () => {
    const schema = z.toJSONSchema(settingsSchema, { target: 'draft-7', io: 'input' });
    const options = { parser: 'json', printWidth: 100, singleQuote: true } as const;
    const text = await format(JSON.stringify(schema), options);
    expect(schema).toMatchObject({ additionalProperties: false, required: ['studio', 'tanks'] });
    await expect(text).toMatchFileSnapshot(join(packageRoot(), 'config', 'bench.schema.json'));
  });

  it('name that schema in their first line, for editors', () => {
    expect(shipped.split('\n')[0]).toBe('#:schema ./bench.schema.json');
  });

  it('pass a night of eight hours in two minutes, on a simulated tank only', () => {
    const { settings } = loadSettings({ env: { HOME: folder.path } });
    expect(settings.tanks).toHaveLength(1);
    expect(settings.tanks[0]?.rectifier.link.kind).toBe('in-process');
    expect((8 * 60) / (settings.tanks[0]?.timeScale ?? 0)).toBe(2);
  });

  it('hold examples for real supplies that load once the # is taken away', () => {
    const lines = shipped.split('\n');
    const firstTank = lines.indexOf('[[tanks]]');
    const examples = lines
      .slice(lines.findIndex((line) => line.startsWith('# ----')))
      .filter((line) => /^# (?:\[|\w+ = |# )/.test(line))
      .map((line) => line.slice(2));
    const text = [...lines.slice(0, firstTank), ...examples].join('\n');
    const { settings } = folder.load(text);
    expect(settings.tanks.map((tank) => tank.rectifier.link.kind)).toEqual(['serial', 'tcp']);
    expect(settings.tanks.every((tank) => tank.timeScale === 1)).toBe(true);
  });
});
