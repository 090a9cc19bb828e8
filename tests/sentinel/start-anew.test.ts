/** The daemon between two benches: settings that went bad, and who asks to leave. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { SentinelVoice } from '../../daemon/alerts/door.ts';
import { runDaemon, type StartedBench } from '../../daemon/main.ts';
import { startAnew, type Sentinel } from '../../daemon/sentinel/door.ts';
import { SettingsError } from '../../daemon/settings/door.ts';
import { aChannel } from '../alerts/quiet-alerts.ts';
import { WebAddress } from '../alerts/servers.ts';
import { BenchFolder, benchToml } from '../settings/bench-folder.ts';

let folder: BenchFolder;
let spoolFolder: string;
let address: WebAddress;
beforeEach(async () => {
  folder = new BenchFolder();
  spoolFolder = mkdtempSync(join(tmpdir(), 'nightbath-anew-'));
  address = await WebAddress.open();
});
afterEach(() => {
  folder.remove();
  rmSync(spoolFolder, { recursive: true, force: true });
});

/** A bench that has ended to be started anew, with its voice. */
function endedBench(isInterrupted = false): StartedBench {
  const voice = new SentinelVoice({
    settings: {
      studio: 'Trial bench',
      alerts: { channels: [aChannel('phone', { url: address.url })], deadMan: null },
    },
    env: {},
    spoolFile: join(spoolFolder, 'spool.json'),
    say: () => undefined,
  });
  const sentinel: Sentinel = {
    finished: Promise.resolve(startAnew),
    interrupt: () => undefined,
    isInterrupted,
    isControlWell: () => false,
    abandon: () => undefined,
  };
  return { sentinel, voice, loaded: folder.load(), letGo: () => undefined };
}

describe('a bench that ended to take changed settings over', () => {
  it('says outside why it does not come up again, and ends with that', async () => {
    const ended = endedBench();
    folder.write('bench.toml', benchToml.replace('maxAmps = 3', 'maxAmps = 0'));
    let starts = 0;
    const start = () => {
      starts += 1;
      return ended;
    };
    const options = { configPath: folder.file, env: { HOME: folder.path } };
    await expect(runDaemon(options, start)).rejects.toThrow(SettingsError);
    expect(starts).toBe(1);
    expect(address.posted).toHaveLength(1);
    expect(address.posted[0]?.body).toContain('Nightbath could not start');
    expect(address.posted[0]?.body).toContain('tanks[0].maxAmps');
  });

  it('ends in order where somebody asked to leave before the new start', async () => {
    const ended = endedBench(true);
    let starts = 0;
    const start = () => {
      starts += 1;
      return ended;
    };
    expect(await runDaemon({ configPath: folder.file, env: {} }, start)).toBe(0);
    expect(starts).toBe(1);
    expect(address.posted).toEqual([]);
  });

  it('says so, too, where only the start itself finds it', async () => {
    const ended = endedBench();
    let starts = 0;
    const start = () => {
      starts += 1;
      if (starts > 1) throw new Error('The dialect cannot be read.');
      return ended;
    };
    const options = { configPath: folder.file, env: { HOME: folder.path } };
    await expect(runDaemon(options, start)).rejects.toThrow('The dialect cannot be read.');
    expect(address.posted[0]?.body).toContain('The dialect cannot be read.');
  });
});
