/** What passes between the web process and its thread for meshes. */

import type { MeshErrorCode, MeshLimits } from '../../piece/mesh/model.ts';
import type { Problem } from '../../piece/model.ts';
import type { MeshAnswer } from '../../wire/mesh.ts';

export interface MeshJob {
  readonly fileName: string;
  /** The file; its memory is handed over and not copied. */
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly limits: MeshLimits;
}

export type FromMeshThread =
  | { readonly kind: 'measured'; readonly answer: MeshAnswer }
  | { readonly kind: 'refused'; readonly code: MeshErrorCode; readonly problem: Problem };

export function isMeshJob(value: unknown): value is MeshJob {
  return (
    typeof value === 'object' &&
    value !== null &&
    'fileName' in value &&
    typeof value.fileName === 'string' &&
    'bytes' in value &&
    value.bytes instanceof Uint8Array &&
    'limits' in value &&
    typeof value.limits === 'object'
  );
}
