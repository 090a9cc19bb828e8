/** What check --write takes out of the settings: what was measured on the supply before. */

import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import { writeSupply, writeTarget, writtenSentence } from '../../daemon/cli/check-write.ts';
import type { LinkSettings } from '../../daemon/settings/model.ts';
import { BenchFolder, benchToml } from '../settings/bench-folder.ts';

const folders: BenchFolder[] = [];
afterEach(() => folders.splice(0).forEach((folder) => folder.remove()));

const before = 'kind = "serial", path = "/dev/ttyUSB0", baudRate = 9600';
const measured = benchToml
  .replace(
    'meterUncertainty = 0.01',
    'ammeterFactor = 1.04 # by the meter\nmeterUncertainty = 0.02',
  )
  .replace('kind = "in-process"', before)
  .replace('driver = "scpi"', 'driver = "scpi"\nexpectIdentity = "TRIAL-30"');

function written(link: Exclude<LinkSettings, { kind: 'in-process' }>, expectIdentity: string) {
  const folder = new BenchFolder(measured);
  folders.push(folder);
  const target = writeTarget('one', folder.file, { HOME: folder.path });
  const supply = { link, expectIdentity, identity: '', maxAmps: 2, maxVolts: 5 };
  const found = writeSupply(target, { ...supply, dialect: 'trial-dialect' }, [], 'off');
  const { rectifier } = folder.load().settings.tanks[0] ?? {};
  return { found, rectifier, text: readFileSync(folder.file, 'utf8') };
}

describe('the ammeter of a supply', () => {
  it.each([
    ['another port', { kind: 'serial', path: '/dev/ttyUSB7', baudRate: 9600 }, 'TRIAL-30'],
    ['another model', { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 9600 }, 'TRIAL-60'],
    ['the network', { kind: 'tcp', host: '127.0.0.1', port: 5025 }, 'TRIAL-30'],
  ] as const)('is unknown once it is another one: %s', (_which, link, identity) => {
    const { found, rectifier, text } = written(link, identity);
    expect(found).toMatchObject({ ok: true, removed: ['ammeterFactor', 'meterUncertainty'] });
    expect(writtenSentence(found, 'one')).toContain('Taken out');
    expect(text).not.toMatch(/ammeterFactor|meterUncertainty/);
    expect(rectifier?.ammeterFactor).toBeUndefined();
    // The default of the settings.
    expect(rectifier?.meterUncertainty).toBe(0.01);
  });

  it('stays known where the same supply is brought up once more', () => {
    const link = { kind: 'serial', path: '/dev/ttyUSB0', baudRate: null } as const;
    const { found, rectifier } = written(link, 'TRIAL-30');
    expect(found).toMatchObject({ ok: true, removed: [] });
    expect(writtenSentence(found, 'one')).not.toContain('Taken out');
    expect(rectifier).toMatchObject({ ammeterFactor: 1.04, meterUncertainty: 0.02 });
  });
});
