/** After a power cut, in a real browser: what is shown, that it is not missed, and that nothing goes on by it. */

import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStoreReader, openStoreWriter } from '../../daemon/store/door.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';
import { expectSound, launch, Visitor } from './harness.ts';

let browser: Browser;
let bench: TestBench;

beforeAll(async () => {
  browser = await launch();
  bench = await TestBench.start({ line: 'tcp' });
});

afterAll(async () => {
  await bench.clear();
});

/** Two older ones beside the run that was just cut short: of a tank that is gone, and in a chain. */
async function addOlderOnes(file: string, run: RunRecord): Promise<void> {
  const store = await openStoreWriter({ file });
  const hoursAgo = (hours: number): number => Date.now() - hours * 3_600_000;
  const cut: RunRecord = {
    ...run,
    lifecycle: 'interrupted',
    offConfirmed: true,
    outcome: { end: 'interrupted', reason: 'Nightbath was shut down.', faultCode: null },
    endedWallMs: hoursAgo(20),
    ampHours: 0.9,
    lowAmpHours: 0.9,
    highAmpHours: 1.1,
  };
  const first = {
    ...cut,
    id: 'twig-first',
    armedWallMs: hoursAgo(40),
    startedWallMs: hoursAgo(40),
  };
  await store.createRun(first);
  await store.createRun({
    ...first,
    id: 'twig-second',
    continues: 'twig-first',
    armedWallMs: hoursAgo(30),
    startedWallMs: hoursAgo(30),
  });
  await store.createRun({ ...cut, id: 'gone-tank', tankId: 'two', armedWallMs: hoursAgo(35) });
  await store.close();
}

const nights = (visitor: Visitor) => visitor.page.locator('article.cut-short');

describe('a run that a power cut has cut short', () => {
  it('stands on the bench until it is decided, over reloads and restarts; nothing is switched on', async () => {
    const runId = await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
    await until('some charge on disk', () => (bench.reader.run(runId)?.ampHours ?? 0) > 0);
    await bench.kill();
    expect((await bench.supply.truth()).outputOn).toBe(true);
    const reader = openStoreReader(bench.databaseFile);
    const record = reader.run(runId);
    reader.close();
    if (record === null) throw new Error('no run');
    await addOlderOnes(bench.databaseFile, record);
    await bench.serve();
    await until('OFF', () => bench.snapshot?.output === 'confirmedOff');
    expect(await bench.supply.truth()).toMatchObject({ outputOn: false, onsReceived: 1 });

    const phone = await Visitor.open(browser, { width: 390, look: 'dark' });
    await phone.page.goto(bench.url);
    // The alarm of the restart is one thing, the decision another: it stays when that is acknowledged.
    await phone.page.getByRole('button', { name: 'Acknowledge' }).click();
    await expect.poll(() => nights(phone).count()).toBe(3);
    const mine = nights(phone).first();
    const text = (await mine.textContent()) ?? '';
    expect(text).toContain('Cut short: Test sheet');
    expect(text).toMatch(/The supply now:\s*Output off, confirmed \d\d:\d\d:\d\d/);
    expect(text).toMatch(/Charge\s*0\.0\d A·h/);
    const gone = nights(phone).filter({ hasText: 'no tank “two” any more' });
    expect(await gone.getByRole('link', { name: 'Carry on' }).count()).toBe(0);
    const chained = nights(phone).filter({ hasText: 'It carries on an earlier run' });
    expect(await chained.textContent()).toContain('0.90 to 1.10 A·h');
    await expectSound(phone, 'interrupted');

    // On any other page a line says that a decision is due, and leads back.
    await phone.page.getByRole('link', { name: 'Log', exact: true }).click();
    const waits = phone.page.getByText('3 runs were cut short and wait for your decision.');
    await waits.waitFor();
    // By the bed too, where the alarm was acknowledged and nothing else tells of it.
    await phone.page.goto(`${bench.url}/night`);
    await phone.page.getByText('No run is under way.').waitFor();
    await waits.waitFor();
    await expectSound(phone, 'interrupted-night');
    await phone.page.getByRole('link', { name: 'Look at it' }).click();
    await phone.page.getByRole('heading', { name: 'Bench' }).waitFor();

    await mine.getByRole('link', { name: 'Carry on: plan what is left' }).click();
    await phone.page.getByText('Carries on from the run of').waitFor();
    await phone.page.getByText('Worked out for these entries.').waitFor();
    await phone.page.goto(bench.url);
    await expect.poll(() => nights(phone).count(), { message: 'looking decides nothing' }).toBe(3);
    expect(phone.complaints).toEqual([]);
    await phone.close();

    const laptop = await Visitor.open(browser, { width: 1280, look: 'dark' });
    await laptop.page.goto(bench.url);
    await expect.poll(() => nights(laptop).count()).toBe(3);
    await expectSound(laptop, 'interrupted');
    const there = nights(laptop).filter({ hasText: 'no tank “two” any more' });
    await there.getByLabel('A note to keep with it').fill('The clip had slipped.');
    await there.getByRole('button', { name: 'End it here' }).click();
    await laptop.page.getByText('ended here, kept as interrupted').waitFor();
    await expect.poll(() => nights(laptop).count(), { timeout: 10_000 }).toBe(2);
    expect(bench.reader.events('gone-tank').map(({ message }) => message)).toEqual([
      'Ended here by the page; kept as interrupted. Note: The clip had slipped.',
    ]);

    expect(await bench.shutDown()).toBe(0);
    bench.exitCode = null;
    bench.url = '';
    bench.output = '';
    await bench.serve();
    await laptop.page.goto(bench.url);
    await expect.poll(() => nights(laptop).count(), { timeout: 10_000 }).toBe(2);

    // Carried on for real: it waits no more once current flows in the run that does.
    await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }), runId);
    await expect.poll(() => nights(laptop).count()).toBe(1);
    const carried = bench.reader.events(runId).filter(({ code }) => code === 'carriedOn');
    expect(carried).toHaveLength(1);
    expect(laptop.complaints.filter((line) => !/ERR_|WebSocket|503/.test(line))).toEqual([]);
    await laptop.close();
  });
});
