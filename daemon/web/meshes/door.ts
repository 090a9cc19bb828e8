/** The route to which a mesh is uploaded, and the only way into this folder. */

import { Hono } from 'hono';
import * as z from 'zod/mini';
import { MeshError, meshLimits } from '../../piece/mesh/model.ts';
import type { MeshAnswer } from '../../wire/mesh.ts';
import { query } from '../body.ts';
import { ProblemError } from '../problem.ts';
import { MeshDesk, MeshDeskBusyError } from './mesh-desk.ts';
import type { MeshDeskLimits } from './mesh-desk.ts';
import { receive } from './upload.ts';

/** 20 s for a mesh; one is measured while two more wait. */
export const meshDeskLimits: MeshDeskLimits = {
  ...meshLimits,
  deadlineMs: 20_000,
  mostUploads: 3,
};

export const meshQuerySchema = z.strictObject({
  /** Kept with the piece; its ending helps where the content does not tell the format. */
  fileName: z.string().check(z.minLength(1), z.maxLength(200)),
});

/** POST /meshes: the file as the body, its name in the query. Changes and keeps nothing. */
export function meshRoutes(limits: Partial<MeshDeskLimits> = {}) {
  const desk = new MeshDesk({ ...meshDeskLimits, ...limits });
  return new Hono().post('/meshes', query(meshQuerySchema), async (context) => {
    const free = place(desk);
    const { raw } = context.req;
    try {
      const announced = Number(context.req.header('content-length') ?? 0);
      const { bytes, sha256 } = await receive(raw.body, announced, desk.limits);
      const name = plainName(context.req.valid('query').fileName);
      const survey = await desk.measure(bytes, name, raw.signal);
      const answer: MeshAnswer = { ...survey, sha256 };
      return context.json(answer);
    } catch (error) {
      if (error instanceof MeshError) throw problemOf(error);
      // Nobody reads this answer any more; it keeps a broken upload from counting as our failure.
      if (raw.signal.aborted) throw new ProblemError('malformed', 'The upload was broken off.');
      throw error;
    } finally {
      free();
    }
  });
}

function place(desk: MeshDesk): () => void {
  try {
    return desk.takePlace();
  } catch (error) {
    if (!(error instanceof MeshDeskBusyError)) throw error;
    const detail = 'Other meshes are being measured; try again in a few seconds.';
    throw new ProblemError('unavailable', detail, [], { 'retry-after': '5' });
  }
}

function problemOf({ code, problem }: MeshError): ProblemError {
  const kind = code === 'tooBig' && problem.field === 'file' ? 'tooLarge' : 'invalid';
  return new ProblemError(kind, problem.message, [problem]);
}

/** The last part of a path, without what cannot be shown. */
function plainName(fileName: string): string {
  const last = fileName.split(/[\\/]/).at(-1) ?? '';
  const name = last.replace(/[\p{C}\p{Zl}\p{Zp}]/gu, '').trim();
  return name === '' ? 'mesh' : name;
}
