/** The writer in front of a thread that dies or falls silent: real threads with a script of the test's own. */

import { Worker } from 'node:worker_threads';
import { expect, onTestFinished, test, vi } from 'vitest';
import { StoreError } from '../../daemon/store/errors.ts';
import { ThreadedWriter } from '../../daemon/store/writer-proxy.ts';
import { aReading, aRun, anEvent } from './a-run.ts';

function writerOver(script: string, stallMs = 30_000) {
  const worker = new Worker(`const { parentPort } = require('node:worker_threads');\n${script}`, {
    eval: true,
  });
  onTestFinished(() => void worker.terminate());
  const notices: string[] = [];
  const failures: string[] = [];
  const onNotice = (sentence: string) => void notices.push(sentence);
  const writer = new ThreadedWriter(worker, { file: 'bench.db', onNotice, stallMs });
  writer.onFailure((reason) => failures.push(reason));
  return { writer, notices, failures };
}

async function errorOf(promise: Promise<unknown>): Promise<StoreError> {
  const error: unknown = await promise.catch((reason: unknown) => reason);
  if (error instanceof StoreError) return error;
  throw new Error(`expected a StoreError, got ${String(error)}`);
}

test.each([
  [
    'ends by itself',
    `parentPort.once('message', () => process.exit(3));`,
    'ended by itself with code 3',
  ],
  ['throws', `parentPort.once('message', () => { throw new Error('boom') });`, 'boom'],
])(
  'when the thread %s every promise is refused and the failure is told once',
  async (_, script, words) => {
    const { writer, failures, notices } = writerOver(script);
    const first = errorOf(writer.createRun(aRun('night-1')));
    const second = errorOf(writer.appendEvent(anEvent(null)));
    expect((await first).message).toContain(words);
    expect((await second).message).toContain(words);
    expect((await errorOf(writer.standingAlarms())).message).toContain(words);
    expect(failures).toHaveLength(1);
    expect(failures[0]).toContain(words);

    writer.appendReading('night-1', aReading(0));
    expect(notices).toEqual(['Readings are being dropped: the database is lost.']);
    await writer.close();
  },
);

test('who listens after the thread has died is told as well', async () => {
  const { writer } = writerOver(`parentPort.once('message', () => process.exit(1));`);
  await errorOf(writer.standingAlarms());
  const late: string[] = [];
  writer.onFailure((reason) => late.push(reason));
  await vi.waitFor(() => expect(late).toHaveLength(1), { timeout: 15_000 });
});

test('a thread that does not answer is given up after the time allowed', async () => {
  const { writer, failures } = writerOver(`parentPort.on('message', () => undefined);`, 200);
  const error = await errorOf(writer.createRun(aRun('night-1')));
  expect(error.kind).toBe('stalled');
  expect(error.message).toContain('has not answered for 200 ms');
  expect(failures).toEqual([error.message]);
  expect((await errorOf(writer.standingAlarms())).kind).toBe('stalled');
});

test('readings that nobody takes in are noticed without any promise', async () => {
  const { writer, failures } = writerOver(`parentPort.on('message', () => undefined);`, 200);
  writer.appendReading('night-1', aReading(0));
  await vi.waitFor(() => expect(failures).toHaveLength(1), { timeout: 5000 });
  expect(failures[0]).toContain('up to 1 readings may be lost');
});

test('a slow but living thread is not given up', async () => {
  const { writer, failures } = writerOver(
    `parentPort.on('message', ({ id }) => {
      const beat = setInterval(() => parentPort.postMessage({ kind: 'opened' }), 20);
      setTimeout(() => {
        clearInterval(beat);
        parentPort.postMessage({ kind: 'answer', id, value: [] });
      }, 2000);
    });`,
    // Room for the start of a thread on a busy machine.
    1000,
  );
  expect(await writer.standingAlarms()).toEqual([]);
  expect(failures).toEqual([]);
});

test('a closing that is never answered is refused in the time allowed', async () => {
  const { writer } = writerOver(`parentPort.on('message', () => undefined);`, 200);
  expect((await errorOf(writer.close())).kind).toBe('stalled');
});

test('a listener that throws keeps no other from hearing, and one spell is told once', async () => {
  const { writer } = writerOver(
    `parentPort.on('message', ({ id, name }) => {
      const error = { kind: 'diskFull', message: 'the disk is full' };
      parentPort.postMessage(
        name === 'createRun' ? { kind: 'answer', id, value: null } : { kind: 'refusal', id, error },
      );
    });`,
  );
  const heard: string[] = [];
  writer.onFailure((reason) => heard.push(reason));
  await errorOf(writer.appendEvent(anEvent(null)));
  await errorOf(writer.appendEvent(anEvent(null)));
  expect(heard).toHaveLength(1);
  await writer.createRun(aRun('night-1'));
  await errorOf(writer.appendEvent(anEvent(null)));
  expect(heard).toHaveLength(2);
});
