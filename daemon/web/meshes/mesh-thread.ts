/** The thread that measures meshes: whatever a file does to it, the web process lives on. */

import { parentPort } from 'node:worker_threads';
import { MeshError } from '../../piece/mesh/model.ts';
import { surveyFile } from './survey.ts';
import type { FromMeshThread, MeshJob } from './thread-messages.ts';

function answerTo({ bytes, fileName, limits }: MeshJob): FromMeshThread {
  try {
    return { kind: 'measured', survey: surveyFile(bytes, fileName, limits) };
  } catch (error) {
    if (!(error instanceof MeshError)) throw error;
    return { kind: 'refused', code: error.code, problem: error.problem };
  }
}

if (parentPort === null) {
  throw new Error('This file is the thread for meshes and does not run by itself.');
}
const port = parentPort;
port.on('message', (job: MeshJob) => port.postMessage(answerTo(job), []));
