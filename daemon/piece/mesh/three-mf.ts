/** Puts a 3MF model together: what it builds, with components placed, mirrored and counted first. */

import { requireTriangles } from './formats.ts';
import { notFinite, refuse, tooManyTriangles } from './model.ts';
import type { Mesh, MeshLimits } from './model.ts';
import { readModelPart } from './model-part.ts';
import type { ModelObject, ModelPart, Placement, Transform } from './model-part.ts';
import { Welder } from './welder.ts';
import { XmlScanner } from './xml.ts';

const modelType = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';
const relationshipsPath = '/_rels/.rels';
const usualModelPath = '/3D/3dmodel.model';
const mostInstances = 10_000;
const mostNesting = 32;

/** The bytes of a part of the package by its absolute path, unpacked; null where there is none. */
export type LoadPart = (path: string) => Uint8Array | null;

/** Reads a package. Throws MeshError. */
export function readThreeMf(load: LoadPart, limits: MeshLimits): Mesh {
  return new Assembly(load, limits).build();
}

/** Where the relationships of the package say that its model is. */
export function modelPathOf(relationships: Uint8Array | null): string {
  if (relationships === null) return usualModelPath;
  const xml = new XmlScanner(relationships);
  for (let step = xml.next(); step !== 'done'; step = xml.next()) {
    if (step !== 'start' || xml.attribute('Type') !== modelType) continue;
    const target = xml.attribute('Target');
    if (target !== null) return target.startsWith('/') ? target : `/${target}`;
  }
  return usualModelPath;
}

interface Placed {
  readonly object: ModelObject;
  readonly transform: Transform | null;
}

class Assembly {
  readonly #load: LoadPart;
  readonly #limits: MeshLimits;
  readonly #parts = new Map<string, ModelPart>();
  readonly #placed: Placed[] = [];
  #visited = 0;
  #triangles = 0;
  #leftOut = 0;

  constructor(load: LoadPart, limits: MeshLimits) {
    this.#load = load;
    this.#limits = limits;
  }

  build(): Mesh {
    const path = modelPathOf(this.#load(relationshipsPath));
    const root = this.#part(path);
    for (const item of root.items) this.#place(item, path, null, 0);
    const welder = new Welder(Math.max(1, this.#triangles), this.#limits);
    for (const placed of this.#placed) addObject(welder, placed);
    const notes =
      this.#leftOut === 0
        ? []
        : [
            `${this.#leftOut} objects that are no part of the body, such as supports, are left out.`,
          ];
    const mesh: Mesh = { format: '3mf', unit: root.unit, ...welder.finish(), notes };
    return requireTriangles(mesh);
  }

  #part(path: string): ModelPart {
    const key = path.toLowerCase();
    const known = this.#parts.get(key);
    if (known !== undefined) return known;
    const bytes = this.#load(path);
    if (bytes === null) {
      const message = `The package has no part ${path}, which it refers to.`;
      throw refuse('broken', 'package', path, 'a part of the package', message);
    }
    const part = readModelPart(bytes, this.#limits);
    this.#parts.set(key, part);
    return part;
  }

  /** Follows components to meshes; nothing is copied yet, so a huge product is refused cheaply. */
  #place(placement: Placement, fromPath: string, outer: Transform | null, nesting: number): void {
    const path = placement.path ?? fromPath;
    const object = this.#part(path).objects.get(placement.objectId);
    if (object === undefined) {
      const message = `The model places object ${placement.objectId}, which it does not have.`;
      throw refuse('outOfRange', 'objectid', placement.objectId, 'an object', message);
    }
    this.#visited += 1;
    if (this.#visited > mostInstances) {
      const message = `The model places more than ${mostInstances} objects.`;
      throw refuse('zipBomb', 'components', this.#visited, `at most ${mostInstances}`, message);
    }
    if (nesting > mostNesting) {
      const message = `Objects of the model are built from one another over ${mostNesting} levels deep.`;
      throw refuse('zipBomb', 'components', nesting, `at most ${mostNesting} levels`, message);
    }
    if (object.type !== 'model' && object.type !== 'surface') {
      this.#leftOut += 1;
      return;
    }
    const transform = combined(placement.transform, outer);
    if (object.corners.length > 0) {
      this.#triangles += object.corners.length / 3;
      if (this.#triangles > this.#limits.maxTriangles) {
        throw tooManyTriangles(`more than ${this.#limits.maxTriangles}`, this.#limits);
      }
      this.#placed.push({ object, transform });
    }
    for (const component of object.components) {
      this.#place(component, path, transform, nesting + 1);
    }
  }
}

/** First `inner`, then `outer`. */
function combined(inner: Transform | null, outer: Transform | null): Transform | null {
  if (inner === null || outer === null) return inner ?? outer;
  const result: number[] = [];
  for (let row = 0; row < 4; row += 1) {
    for (let column = 0; column < 3; column += 1) {
      let sum = row === 3 ? (outer[9 + column] ?? 0) : 0;
      for (let index = 0; index < 3; index += 1) {
        sum += (inner[3 * row + index] ?? 0) * (outer[3 * index + column] ?? 0);
      }
      result.push(sum);
    }
  }
  return result;
}

/** Each placed object is a body of its own: two that touch are not welded together. */
function addObject(welder: Welder, { object, transform }: Placed): void {
  welder.startBody();
  const { vertices, corners } = object;
  const welded = new Int32Array(vertices.length / 3).fill(-1);
  const [a = 1, b = 0, c = 0, d = 0, e = 1, f = 0, g = 0, h = 0, i = 1, j = 0, k = 0, l = 0] =
    transform ?? [];
  const vertex = (listed: number): number => {
    const known = welded[listed] as number;
    if (known >= 0) return known;
    const x = vertices[3 * listed] as number;
    const y = vertices[3 * listed + 1] as number;
    const z = vertices[3 * listed + 2] as number;
    const sum = x * a + y * d + z * g + j;
    const other = x * b + y * e + z * h + k;
    const third = x * c + y * f + z * i + l;
    if (!Number.isFinite(sum + other + third)) throw notFinite('a placed object', 'too large');
    const made = transform === null ? welder.vertex(x, y, z) : welder.vertex(sum, other, third);
    welded[listed] = made;
    return made;
  };
  const determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  for (let at = 0; at < corners.length; at += 3) {
    const first = vertex(corners[at] as number);
    const second = vertex(corners[at + 1] as number);
    const last = vertex(corners[at + 2] as number);
    // A mirroring transform turns every triangle over; swapping two corners turns it back.
    if (determinant < 0) welder.triangle(first, last, second);
    else welder.triangle(first, second, last);
  }
}
