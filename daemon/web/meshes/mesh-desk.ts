/** Measures meshes one at a time in a thread with a deadline, and lets only few wait. */

import { existsSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import { MeshError, refuse } from '../../piece/mesh/model.ts';
import type { MeshLimits } from '../../piece/mesh/model.ts';
import type { MeshSurvey } from './survey.ts';
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
 * and bytes hold them to about 750 MB at worst.
 */
const threadHeapMb = 512;

/**
 * A thread that has measured a mesh knows its way and is twice as fast with the next, so it is kept
 * for so long, ms. Then it ends, and all memory that it took goes with it.
 */
const idleMs = 30_000;

export class MeshDesk {
  readonly limits: MeshDeskLimits;
  #uploads = 0;
  #last: Promise<unknown> = Promise.resolve();
  #idle: Worker | null = null;
  #idleTimer: NodeJS.Timeout | undefined;
  readonly #forget = (): void => {
    this.#idle = null;
  };

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
   * MeshError for a file that is refused, and with MeshThreadError where the thread failed or nobody
   * waits for the answer any more.
   */
  measure(
    bytes: Uint8Array<ArrayBuffer>,
    fileName: string,
    signal?: AbortSignal,
  ): Promise<MeshSurvey> {
    const { maxBytes, maxTriangles } = this.limits;
    const job: MeshJob = { bytes, fileName, limits: { maxBytes, maxTriangles } };
    const mine = this.#last.then(async () => {
      if (signal?.aborted === true) throw nobodyWaits();
      return this.#run(job, signal);
    });
    this.#last = mine.catch(() => undefined);
    return mine;
  }

  /** Ends the thread that is kept for the next mesh. */
  async close(): Promise<void> {
    clearTimeout(this.#idleTimer);
    const idle = this.#takeIdle();
    await idle?.terminate();
  }

  #run(job: MeshJob, signal?: AbortSignal): Promise<MeshSurvey> {
    const { deadlineMs } = this.limits;
    const worker = this.#takeThread();
    return new Promise<MeshSurvey>((resolve, reject) => {
      let failure: Error | null = null;
      const giveUp = (reason: Error): void => {
        failure = reason;
        void worker.terminate();
      };
      const onAbort = (): void => giveUp(nobodyWaits());
      const onError = (error: NodeJS.ErrnoException): void => {
        failure = error.code === 'ERR_WORKER_OUT_OF_MEMORY' ? tooComplex() : error;
      };
      // Where it fails, this settles only now, so that the next file finds no other thread at work.
      const onExit = (code: number): void => {
        stopListening();
        reject(failure !== null && isOwn(failure) ? failure : threadFailed(failure, code));
      };
      const onMessage = (message: FromMeshThread): void => {
        // A thread that was given up ends; its answer came too late.
        if (failure !== null) return;
        stopListening();
        this.#keep(worker);
        if (message.kind === 'measured') resolve(message.survey);
        else reject(new MeshError(message.code, message.problem));
      };
      const timer = setTimeout(() => giveUp(tookTooLong(deadlineMs)), deadlineMs);
      const stopListening = (): void => {
        clearTimeout(timer);
        signal?.removeEventListener('abort', onAbort);
        worker.off('message', onMessage).off('error', onError).off('exit', onExit);
      };
      signal?.addEventListener('abort', onAbort, { once: true });
      worker.on('message', onMessage).on('error', onError).on('exit', onExit);
      worker.postMessage(job, [job.bytes.buffer]);
    });
  }

  #takeThread(): Worker {
    clearTimeout(this.#idleTimer);
    const idle = this.#takeIdle();
    idle?.ref();
    return (
      idle ??
      new Worker(threadFile(), {
        name: 'meshes',
        execArgv: [],
        resourceLimits: { maxOldGenerationSizeMb: threadHeapMb },
      })
    );
  }

  #takeIdle(): Worker | null {
    const idle = this.#idle;
    this.#idle = null;
    return idle?.off('error', this.#forget).off('exit', this.#forget) ?? null;
  }

  #keep(worker: Worker): void {
    this.#idle = worker;
    worker.on('error', this.#forget).on('exit', this.#forget);
    // Nothing has to wait for a thread that does nothing.
    worker.unref();
    this.#idleTimer = setTimeout(() => void this.close(), idleMs).unref();
  }
}

function nobodyWaits(): MeshThreadError {
  return new MeshThreadError('Nobody waits for the answer.');
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
