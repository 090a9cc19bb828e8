/** Reads one model part of a 3MF package: its unit, its objects and what it builds. */

import type { MeshUnit } from '../model.ts';
import { notFinite, refuse, tooManyTriangles } from './model.ts';
import type { MeshLimits } from './model.ts';
import { textOf, TextScanner, wordBytes } from './text-scanner.ts';
import { XmlNamespaces } from './xml-namespaces.ts';
import { XmlScanner } from './xml.ts';

/** 4 by 3 numbers, row by row: a point as a row times the matrix, the last row moves it. */
export type Transform = readonly number[];

export interface Placement {
  readonly objectId: string;
  /** The part that holds the object; null for the part that places it. */
  readonly path: string | null;
  readonly transform: Transform | null;
}

export interface ModelObject {
  readonly type: string;
  readonly vertices: Float64Array;
  readonly corners: Int32Array;
  readonly components: readonly Placement[];
}

export interface ModelPart {
  readonly unit: MeshUnit;
  readonly objects: ReadonlyMap<string, ModelObject>;
  readonly items: readonly Placement[];
}

const coreNamespace = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const productionNamespace = 'http://schemas.microsoft.com/3dmanufacturing/production/2015/06';
/** Extensions that a file may require because they change no surface. */
const harmless: ReadonlySet<string> = new Set([
  productionNamespace,
  'http://schemas.microsoft.com/3dmanufacturing/material/2015/02',
]);

const units: Readonly<Record<string, MeshUnit>> = {
  micron: 'micrometre',
  millimeter: 'millimetre',
  centimeter: 'centimetre',
  inch: 'inch',
  foot: 'foot',
  meter: 'metre',
};

/** Elements that matter, each with the one it has to stand in. */
const parents = {
  model: null,
  resources: 'model',
  object: 'resources',
  mesh: 'object',
  vertices: 'mesh',
  vertex: 'vertices',
  triangles: 'mesh',
  triangle: 'triangles',
  components: 'object',
  component: 'components',
  build: 'model',
  item: 'build',
} as const;
type Element = keyof typeof parents;
const words = Object.keys(parents).map((name) => ({
  name: name as Element,
  bytes: wordBytes(name),
}));

const xyz = ['x', 'y', 'z'].map(wordBytes);
const v123 = ['v1', 'v2', 'v3'].map(wordBytes);

/** Reads the part. Throws MeshError for what is not well-formed or says what it may not. */
export function readModelPart(bytes: Uint8Array, limits: MeshLimits): ModelPart {
  return new PartReader(bytes, limits).read();
}

class PartReader {
  readonly #xml: XmlScanner;
  readonly #limits: MeshLimits;
  readonly #numbers: TextScanner;
  readonly #namespaces = new XmlNamespaces();
  /** The element at each depth; null for one that does not matter. */
  readonly #path: (Element | null)[] = [];
  #unit: MeshUnit = 'millimetre';
  readonly #objects = new Map<string, ModelObject>();
  readonly #items: Placement[] = [];
  #object: { id: string; type: string; components: Placement[] } | null = null;
  #vertices = new Float64Array(3 * 1024);
  #vertexCount = 0;
  #corners = new Int32Array(3 * 1024);
  #triangleCount = 0;
  /** Over all objects. */
  #allTriangles = 0;

  constructor(bytes: Uint8Array, limits: MeshLimits) {
    this.#xml = new XmlScanner(bytes);
    this.#limits = limits;
    this.#numbers = new TextScanner(bytes);
  }

  read(): ModelPart {
    const xml = this.#xml;
    for (let step = xml.next(); step !== 'done'; step = xml.next()) {
      if (step === 'start') this.#start();
      else this.#end();
    }
    return { unit: this.#unit, objects: this.#objects, items: this.#items };
  }

  #start(): void {
    const xml = this.#xml;
    this.#namespaces.enter(xml);
    const element = this.#element();
    this.#path[xml.depth - 1] = element;
    if (xml.depth === 1 && element !== 'model') {
      throw refuse(
        'broken',
        'the model part',
        'another document',
        'a 3MF model',
        'The model part of the file is no 3MF model.',
      );
    }
    if (element !== null) this.#enter(element);
  }

  #enter(element: Element): void {
    switch (element) {
      case 'vertex':
        this.#vertex();
        break;
      case 'triangle':
        this.#triangle();
        break;
      case 'model':
        this.#model();
        break;
      case 'object':
        this.#object = {
          id: this.#required('id'),
          type: this.#xml.attribute('type') ?? 'model',
          components: [],
        };
        this.#vertexCount = 0;
        this.#triangleCount = 0;
        break;
      case 'component':
        this.#object?.components.push(this.#placement());
        break;
      case 'item':
        this.#items.push(this.#placement());
        break;
      case 'resources':
      case 'mesh':
      case 'vertices':
      case 'triangles':
      case 'components':
      case 'build':
        break;
    }
  }

  #end(): void {
    const { depth } = this.#xml;
    if (this.#path[depth] === 'object' && this.#object !== null) {
      const { id, type, components } = this.#object;
      if (this.#objects.has(id)) {
        const message = `Two objects of the model have the id ${id}.`;
        throw refuse('broken', 'object', id, 'ids used once', message);
      }
      this.#objects.set(id, {
        type,
        components,
        vertices: this.#vertices.slice(0, 3 * this.#vertexCount),
        corners: this.#corners.slice(0, 3 * this.#triangleCount),
      });
      this.#object = null;
    }
    this.#namespaces.leave(depth);
  }

  /** Which element this is, when it belongs to the core and stands where it has to. */
  #element(): Element | null {
    const xml = this.#xml;
    const { nameEnd } = xml;
    let start = xml.nameStart;
    let colon = start;
    while (colon < nameEnd && xml.bytes[colon] !== 58) colon += 1;
    if (colon < nameEnd) {
      const prefix = textOf(xml.bytes, start, colon);
      if (this.#namespaces.uriOf(prefix) !== coreNamespace) return null;
      start = colon + 1;
    } else if (this.#namespaces.defaultUri !== coreNamespace) return null;
    const parent = xml.depth === 1 ? null : this.#path[xml.depth - 2];
    for (const { name, bytes } of words) {
      if (xml.spells(start, nameEnd, bytes)) return parents[name] === parent ? name : null;
    }
    return null;
  }

  #model(): void {
    const unit = this.#xml.attribute('unit') ?? 'millimeter';
    const known = Object.hasOwn(units, unit) ? units[unit] : undefined;
    if (known === undefined) {
      const bound = Object.keys(units).join(', ');
      throw refuse('broken', 'unit', unit, bound, `The unit of the model is ${unit}.`);
    }
    this.#unit = known;
    const required = this.#xml.attribute('requiredextensions') ?? '';
    for (const prefix of required.split(/\s+/).filter((word) => word !== '')) {
      const uri = this.#namespaces.uriOf(prefix);
      if (harmless.has(uri)) continue;
      const bound = 'meshes and components';
      const message = `The model needs the extension "${prefix}", which is not read. Export it as plain triangles.`;
      throw refuse('unsupported', 'requiredextensions', prefix, bound, message);
    }
  }

  #required(name: string): string {
    const value = this.#xml.attribute(name);
    if (value !== null) return value;
    const message = `An element of the model lacks its attribute ${name}.`;
    throw refuse('broken', name, 'missing', 'an attribute', message);
  }

  #placement(): Placement {
    const prefix = this.#namespaces.prefixOf(productionNamespace);
    const path = prefix === null ? null : this.#xml.attribute(`${prefix}:path`);
    const text = this.#xml.attribute('transform');
    const transform = text === null ? null : text.trim().split(/\s+/).map(Number);
    if (transform !== null && (transform.length !== 12 || !transform.every(Number.isFinite))) {
      const message = 'A transform of the model does not have 12 finite numbers.';
      throw refuse('broken', 'transform', (text ?? '').slice(0, 60), '12 finite numbers', message);
    }
    return { objectId: this.#required('objectid'), path, transform };
  }

  #vertex(): void {
    const at = 3 * this.#vertexCount;
    if (at >= this.#vertices.length) {
      if (this.#vertexCount >= 3 * this.#limits.maxTriangles) {
        const most = 3 * this.#limits.maxTriangles;
        const message = `An object lists more than ${most} vertices.`;
        throw refuse('outOfRange', 'vertices', `more than ${most}`, `at most ${most}`, message);
      }
      const grown = new Float64Array(2 * this.#vertices.length);
      grown.set(this.#vertices);
      this.#vertices = grown;
    }
    for (let axis = 0; axis < 3; axis += 1) {
      const value = this.#number(xyz[axis] as Uint8Array, axis);
      if (!Number.isFinite(value)) {
        const text = this.#xml.attribute('xyz'[axis] ?? '') ?? 'missing';
        if (/^[+-]?(nan|inf|\d)/i.test(text)) {
          throw notFinite(`vertex ${this.#vertexCount} of object ${this.#object?.id}`, text);
        }
        throw this.#badNumber(`vertex ${this.#vertexCount}`, text, 'a number');
      }
      this.#vertices[at + axis] = value;
    }
    this.#vertexCount += 1;
  }

  #triangle(): void {
    const at = 3 * this.#triangleCount;
    this.#allTriangles += 1;
    if (this.#allTriangles > this.#limits.maxTriangles) {
      throw tooManyTriangles(`more than ${this.#limits.maxTriangles}`, this.#limits);
    }
    if (at >= this.#corners.length) {
      const grown = new Int32Array(2 * this.#corners.length);
      grown.set(this.#corners);
      this.#corners = grown;
    }
    for (let corner = 0; corner < 3; corner += 1) {
      const value = this.#number(v123[corner] as Uint8Array, corner);
      if (!Number.isInteger(value) || value < 0 || value >= this.#vertexCount) {
        const text = this.#xml.attribute(`v${corner + 1}`) ?? 'missing';
        const place = `triangle ${this.#triangleCount + 1}`;
        if (!Number.isInteger(value)) throw this.#badNumber(place, text, 'a vertex number');
        const bound = `0 to ${this.#vertexCount - 1}`;
        const message = `${place} of object ${this.#object?.id} names vertex ${text}; there are ${bound}.`;
        throw refuse('outOfRange', place, text, bound, message);
      }
      this.#corners[at + corner] = value;
    }
    this.#triangleCount += 1;
  }

  #badNumber(place: string, text: string, bound: string): Error {
    const message = `In ${place} of object ${this.#object?.id} stands "${text}"; expected is ${bound}.`;
    return refuse('broken', place, text, bound, message);
  }

  /** The number in an attribute, NaN without one; writers put attributes in order, so look there. */
  #number(name: Uint8Array, expectedPlace: number): number {
    const xml = this.#xml;
    const { attributes, attributeCount } = xml;
    for (let index = 0; index < attributeCount; index += 1) {
      const at = 4 * ((expectedPlace + index) % attributeCount);
      if (!xml.spells(attributes[at] as number, attributes[at + 1] as number, name)) continue;
      const numbers = this.#numbers;
      const end = attributes[at + 3] as number;
      numbers.at = attributes[at + 2] as number;
      while (numbers.at < end && (numbers.bytes[numbers.at] as number) <= 32) numbers.at += 1;
      const value = numbers.number();
      while (numbers.at < end && (numbers.bytes[numbers.at] as number) <= 32) numbers.at += 1;
      return numbers.at === end ? value : Number.NaN;
    }
    return Number.NaN;
  }
}
