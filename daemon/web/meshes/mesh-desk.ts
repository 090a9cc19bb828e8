/** Measures meshes one at a time in a thread with a deadline, and lets only few wait. */

import { existsSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import { MeshError, refuse } from '../../piece/mesh/model.ts';
import type { MeshLimits } from '../../piece/mesh/model.ts';
import type { MeshAnswer } from '../../wire/mesh.ts';
import type { FromMeshThread, MeshJob } from './thread-messages.ts';

export interface MeshDeskLimits extends MeshLimits {
  /** Longest time for one mesh, from the start of its thread, ms. */
  readonly deadlineMs: number;
  /** Uploads that are received, wait or are measured, all together. */
  readonly mostUploads: number;
}

/** Thrown when as many uploads as may be are on their way already. */
export class MeshDeskBusyError extends Error {
  override readonly name = 'MeshDeskBusyError';
}

/** Thrown when the thread failed for a reason that is not the file's. */
export class MeshThreadError extends Error {
  override readonly name = 'MeshThreadError';
}

/**
 * Room for the thread's own objects. The arrays of a mesh lie outside of it; the bounds on triangles
 * and bytes hold them below about 700 MB.
 */
const threadHeapMb = 512;

export class MeshDesk {
  readonly limits: MeshDeskLimits;
  #uploads = 0;
  #last: Promise<unknown> = Promise.resolve();

  constructor(limits: MeshDeskLimits) {
    this.limits = limits;
  }

  /** Takes one of the places; the function it gives frees it. Throws MeshDeskBusyError. */
  takePlace(): () => void {
    if (this.#uploads >= this.limits.mostUploads) {
      throw new MeshDeskBusyError(`${this.#uploads} meshes are being measured already.`);
    }
    this.#uploads += 1;
    let taken = true;
    return () => {
      if (taken) this.#uploads -= 1;
      taken = false;
    };
  }

  /**
   * Measures when those before are done. The memory of `bytes` is gone afterwards. Rejects with
   * MeshError for a file that is refused, with MeshThreadError where the thread failed, and with the
   * signal's reason when nobody waits for the answer any more.
   */
  measure(
    bytes: Uint8Array<ArrayBuffer>,
    fileName: string,
    signal?: AbortSignal,
  ): Promise<MeshAnswer> {
    const { maxBytes, maxTriangles } = this.limits;
    const job: MeshJob = { bytes, fileName, limits: { maxBytes, maxTriangles } };
    const mine = this.#last.then(async () => {
      signal?.throwIfAborted();
      return this.#run(job, signal);
    });
    this.#last = mine.catch(() => undefined);
    return mine;
  }

  #run(job: MeshJob, signal?: AbortSignal): Promise<MeshAnswer> {
    const { deadlineMs } = this.limits;
    return new Promise<MeshAnswer>((resolve, reject) => {
      const worker = new Worker(threadFile(), {
        workerData: job,
        transferList: [job.bytes.buffer],
        name: 'meshes',
        execArgv: [],
        resourceLimits: { maxOldGenerationSizeMb: threadHeapMb },
      });
      let answer: FromMeshThread | null = null;
      let failure: Error | null = null;
      const giveUp = (reason: Error): void => {
        failure = reason;
        void worker.terminate();
      };
      const onAbort = (): void => giveUp(new MeshThreadError('Nobody waits for the answer.'));
      const timer = setTimeout(() => giveUp(tookTooLong(deadlineMs)), deadlineMs);
      signal?.addEventListener('abort', onAbort, { once: true });
      worker.on('message', (message: FromMeshThread) => (answer = message));
      worker.on('error', (error: NodeJS.ErrnoException) => {
        failure = error.code === 'ERR_WORKER_OUT_OF_MEMORY' ? tooComplex() : error;
      });
      // Settled only now, so that the next file finds no other thread at work.
      worker.on('exit', (code) => {
        clearTimeout(timer);
        signal?.removeEventListener('abort', onAbort);
        if (answer?.kind === 'measured') resolve(answer.answer);
        else if (answer?.kind === 'refused') reject(new MeshError(answer.code, answer.problem));
        else reject(failure !== null && isOwn(failure) ? failure : threadFailed(failure, code));
      });
    });
  }
}

function isOwn(error: Error): boolean {
  return error instanceof MeshError || error instanceof MeshThreadError;
}

function threadFailed(failure: Error | null, code: number): MeshThreadError {
  const why = failure === null ? `it ended with code ${code}` : failure.message;
  return new MeshThreadError(`The thread for meshes failed: ${why}.`, { cause: failure });
}

function tookTooLong(deadlineMs: number): MeshError {
  const most = `${deadlineMs / 1000} s`;
  const message = `The mesh was not measured within ${most}. Reduce it in the program it comes from.`;
  return refuse('tooBig', 'time', `over ${most}`, `at most ${most}`, message);
}

function tooComplex(): MeshError {
  const bound = `${threadHeapMb} MB`;
  const message = `The mesh takes more memory than the ${bound} there are for it. Reduce it.`;
  return refuse('tooBig', 'memory', `over ${bound}`, `at most ${bound}`, message);
}

/**
 * The compiled thread, beside this file once built. From source it is the one in `dist/`: a thread
 * does not run TypeScript on every Node that we support.
 */
function threadFile(): URL {
  const places = ['./mesh-thread.js', '../../../dist/daemon/web/meshes/mesh-thread.js'];
  for (const place of places) {
    const url = new URL(place, import.meta.url);
    if (existsSync(url)) return url;
  }
  throw new MeshThreadError(
    'The thread for meshes is not compiled: run `npm run build:daemon` first.',
  );
}
