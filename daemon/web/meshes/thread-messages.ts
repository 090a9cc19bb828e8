/** What passes between the web process and its thread for meshes. */

import type { MeshErrorCode, MeshLimits } from '../../piece/mesh/model.ts';
import type { Problem } from '../../piece/model.ts';
import type { MeshSurvey } from './survey.ts';

export interface MeshJob {
  readonly fileName: string;
  /** The file; its memory is handed over and not copied. */
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly limits: MeshLimits;
}

export type FromMeshThread =
  | { readonly kind: 'measured'; readonly survey: MeshSurvey }
  | { readonly kind: 'refused'; readonly code: MeshErrorCode; readonly problem: Problem };
