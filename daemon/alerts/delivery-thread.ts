/** The thread that sends: mail, web and programs, away from the loop that watches current. */

import { parentPort, workerData, type MessagePort } from 'node:worker_threads';
import { deliver, type Workplace } from './channels/deliver.ts';
import type { Letter } from './letter.ts';

/** One try to make. */
export interface DeliveryJob {
  readonly id: number;
  readonly channel: string;
  readonly letter: Letter;
}

/** What became of it; the reason is null where the channel took it. */
export interface DeliveryDone {
  readonly id: number;
  readonly reason: string | null;
}

const port = parentPort;
if (port === null)
  throw new Error('This file is a thread of the alerts and does not run by itself.');
// What is handed over is plain data, made by the crew that is built together with this file.
const place: Workplace = { ...(workerData as Omit<Workplace, 'env'>), env: process.env };

async function work({ id, channel, letter }: DeliveryJob, answer: MessagePort): Promise<void> {
  const done: DeliveryDone = { id, reason: await deliver(place, channel, letter) };
  answer.postMessage(done, []);
}

port.on('message', (job: DeliveryJob) => void work(job, port));
