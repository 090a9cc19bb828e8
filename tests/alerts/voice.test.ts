/** The voice of the sentinel over real addresses: what it says, keeps over its own end, and the dead man's calls. */

import { mkdtempSync, readFileSync, rmSync, writeFileSync, existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { DeadMan } from '../../daemon/alerts/dead-man.ts';
import { SentinelVoice } from '../../daemon/alerts/door.ts';
import { Spool } from '../../daemon/alerts/spool.ts';
import type { ChannelSettings } from '../../daemon/settings/model.ts';
import { aChannel } from './quiet-alerts.ts';
import { WebAddress } from './servers.ts';

let spoolFile: string;
beforeEach(() => {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-voice-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  spoolFile = join(folder, 'state', 'spool.json');
});

function aVoice(channels: readonly ChannelSettings[]) {
  const said: string[] = [];
  const voice = new SentinelVoice({
    settings: { studio: 'Teasel Lane', alerts: { channels, deadMan: null } },
    env: {},
    spoolFile,
    say: (sentence) => said.push(sentence),
  });
  onTestFinished(() => voice.close(0));
  return { voice, said };
}

async function until(what: string, look: () => boolean): Promise<void> {
  const endMs = performance.now() + 12_000;
  while (!look()) {
    if (performance.now() > endMs) throw new Error(`Waited in vain for ${what}.`);
    await wait(10);
  }
}

const spooled = () => (existsSync(spoolFile) ? readFileSync(spoolFile, 'utf8') : '');
const word = { grave: true, title: 'The output could not be confirmed off: one', text: 'Go.' };

describe('the voice of the sentinel', () => {
  it('says it at once, and keeps nothing of what was taken', async () => {
    const address = await WebAddress.open();
    let release = () => {};
    address.answer = (response) => void (release = () => response.end());
    const { voice } = aVoice([aChannel('phone', { url: address.url })]);
    voice.tell(word);
    // The disk may stall: nothing of it is done before the caller goes on.
    expect(existsSync(spoolFile)).toBe(false);
    await until('the message', () => address.posted.length === 1);
    await until('the spool', () => spooled().includes('could not be confirmed off'));
    release();
    expect(address.posted[0]?.body).toContain('The output could not be confirmed off: one\n\nGo.');
    await until('the spool', () => !spooled().includes('confirmed off'));
  });

  it('says after its own end what it could not say before, under the same name', async () => {
    const address = await WebAddress.open();
    address.answer = (response) => response.writeHead(503).end();
    const channels = [aChannel('phone', { url: address.url })];
    const first = aVoice(channels);
    first.voice.tell(word);
    await until('the failure', () => first.said.length === 1);
    expect(first.said[0]).toContain('The address answered 503.');
    expect(first.said[0]).not.toContain('t0ken');
    await first.voice.close(0);

    address.answer = (response) => response.end();
    // The next try is due seconds later, and the next process does not forget that.
    aVoice(channels);
    await until('the message', () => address.posted.length === 2);
    const names = address.posted.map(({ body }) => /Message (\S+)/.exec(body)?.[1]);
    expect(names[0]).toBe(names[1]);
    await until('the spool', () => !spooled().includes('confirmed off'));
  });

  it('leaves the words of another bench at the same spool alone where it has no channel', async () => {
    const address = await WebAddress.open();
    address.answer = (response) => response.writeHead(503).end();
    const first = aVoice([aChannel('phone', { url: address.url })]);
    first.voice.tell(word);
    await until('the failure', () => first.said.length === 1);
    await first.voice.close(0);
    const left = spooled();
    const bare = aVoice([]);
    bare.voice.tell(word);
    await bare.voice.close(0);
    expect(spooled()).toBe(left);
  });

  it('keeps the newest of many words that come faster than the disk takes them', async () => {
    const spool = new Spool(spoolFile, () => undefined);
    for (let count = 0; count < 30; count += 1) {
      spool.add({
        message: {
          id: `w-${count}`,
          kind: 'sentinel',
          priority: 'stopped',
          tankId: null,
          createdWallMs: count,
          title: 'A word',
          text: '',
          code: null,
        },
        channels: [{ name: 'phone', print: 'p' }],
      });
    }
    await spool.written();
    const kept = new Spool(spoolFile, () => undefined).open;
    expect(kept.map(({ message }) => message.id)).toEqual(
      Array.from({ length: 30 }, (_, count) => `w-${count}`),
    );
  });

  it('writes nothing where there is no channel, and bears a file that is none', async () => {
    const { voice } = aVoice([]);
    voice.tell(word);
    expect(existsSync(spoolFile)).toBe(false);
    const address = await WebAddress.open();
    const channels = [aChannel('phone', { url: address.url })];
    aVoice(channels).voice.tell(word);
    await until('the message', () => address.posted.length === 1);
    writeFileSync(spoolFile, '{"deliveries": [{}]');
    const { voice: next, said } = aVoice(channels);
    expect(said[0]).toContain('cannot be read');
    next.tell(word);
    await until('the next message', () => address.posted.length === 2);
  });

  it('lets a last word out before it ends', async () => {
    const address = await WebAddress.open();
    address.answer = (response) => void setTimeout(() => response.end(), 300);
    const { voice } = aVoice([aChannel('phone', { url: address.url })]);
    voice.tell(word);
    await voice.close(10_000);
    expect(spooled()).not.toContain('confirmed off');
  });
});

describe("the dead man's address", () => {
  it('is called while the bench is watched, and not any more when it is not', async () => {
    const address = await WebAddress.open();
    let watched = false;
    const said: string[] = [];
    const deadMan = new DeadMan({
      url: address.url,
      env: {},
      isWatched: () => watched,
      say: (sentence) => said.push(sentence),
      everyMs: 60,
    });
    onTestFinished(() => deadMan.close());
    await wait(150);
    expect(address.posted).toEqual([]);
    watched = true;
    await until('three calls', () => address.posted.length >= 3);
    expect(address.posted[0]?.method).toBe('GET');
    watched = false;
    await wait(100);
    const calls = address.posted.length;
    await wait(300);
    expect(address.posted.length).toBe(calls);
    expect(said).toEqual([]);
  });

  it('that fails is told once, without its secret, and so is its return', async () => {
    const address = await WebAddress.open();
    address.answer = (response) => response.writeHead(500).end();
    const said: string[] = [];
    const deadMan = new DeadMan({
      url: address.url,
      env: {},
      isWatched: () => true,
      say: (sentence) => said.push(sentence),
      everyMs: 48,
    });
    onTestFinished(() => deadMan.close());
    await until('some calls', () => address.posted.length >= 4);
    expect(said).toEqual(["The dead man's address is not reached. The address answered 500."]);
    address.answer = (response) => response.end();
    await until('its return', () => said.length === 2);
    expect(said[1]).toBe("The dead man's address is reached again.");
  });
});
