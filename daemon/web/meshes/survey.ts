/** From the bytes of a mesh file to the answer about it; runs in the thread for meshes. */

import { formatOf, readMesh } from '../../piece/mesh/formats.ts';
import { measureSurface } from '../../piece/mesh/measure.ts';
import type { Mesh, MeshFormat, MeshLimits } from '../../piece/mesh/model.ts';
import { previewOf } from '../../piece/mesh/preview.ts';
import { prepareSurface, sizeOf } from '../../piece/mesh/surface.ts';
import { readThreeMf } from '../../piece/mesh/three-mf.ts';
import { unitCandidates } from '../../piece/mesh/units.ts';
import type { MeshAnswer } from '../../wire/mesh.ts';
import { ZipPackage } from './zip.ts';

/** What the thread tells of a file; the checksum was made while the file came in. */
export type MeshSurvey = Omit<MeshAnswer, 'sha256'>;

/** Reads and measures a file. Throws MeshError for one that cannot be. */
export function surveyFile(bytes: Uint8Array, fileName: string, limits: MeshLimits): MeshSurvey {
  const format = formatOf(bytes, fileName, limits);
  const mesh = readAny(bytes, format, limits);
  const surface = prepareSurface(mesh);
  const measure = measureSurface(surface);
  const { area, box } = measure;
  return {
    fileName,
    sizeBytes: bytes.length,
    format,
    unit: mesh.unit,
    candidates: [...unitCandidates(sizeOf(box), area, mesh.unit)],
    measure: {
      ...measure,
      box: { min: [...box.min], max: [...box.max] },
      notes: [...measure.notes],
    },
    preview: toWire(previewOf(surface)),
  };
}

function readAny(bytes: Uint8Array, format: MeshFormat, limits: MeshLimits): Mesh {
  if (format !== '3mf') return readMesh(bytes, format, limits);
  const archive = new ZipPackage(bytes);
  return readThreeMf((path) => archive.read(path), limits);
}

function toWire(preview: ReturnType<typeof previewOf>): MeshAnswer['preview'] {
  return { ...preview, axes: [...preview.axes], segments: [...preview.segments] };
}
