/** Sends a file to the bench, telling how much has gone, and reads the answer. */

import type { Problem } from '../../daemon/piece/model.ts';
import { ApiError, randomKey } from '../api.ts';
import { words } from '#words/common';
import { photoWords } from '#words/photo';

export interface Upload<T> {
  /** Rejects with an ApiError whose message is the sentence to show. */
  readonly answer: Promise<T>;
  readonly cancel: () => void;
}

/** `progress` hears the share that has gone, 0 to 1. A fetch cannot tell it, so this is no fetch. */
export function upload<T>(
  path: string,
  file: Blob,
  progress: (share: number) => void = () => undefined,
): Upload<T> {
  const request = new XMLHttpRequest();
  const answer = new Promise<T>((resolve, reject) => {
    const fail = (message: string, problems: readonly Problem[] = []): void =>
      reject(new ApiError(message, request.status, problems));
    request.open('POST', path);
    request.setRequestHeader('content-type', 'application/octet-stream');
    request.setRequestHeader('x-nightbath', '1');
    request.setRequestHeader('idempotency-key', randomKey());
    request.upload.addEventListener('progress', ({ loaded, total, lengthComputable }) => {
      if (lengthComputable) progress(loaded / total);
    });
    request.addEventListener('error', () => fail(words.daemon.silent));
    request.addEventListener('abort', () => fail(photoWords.cancelled));
    request.addEventListener('load', () => {
      try {
        const body = JSON.parse(request.responseText) as unknown;
        if (request.status >= 200 && request.status < 300) {
          resolve(body as T);
          return;
        }
        const { detail, problems } = body as { detail?: string; problems?: readonly Problem[] };
        fail(detail ?? words.daemon.answered(request.status), problems);
      } catch {
        fail(photoWords.garbled(request.status));
      }
    });
    request.send(file);
  });
  return { answer, cancel: () => request.abort() };
}
