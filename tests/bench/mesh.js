/** Reading and measuring a mesh against admesh, and its figures against admesh and manifold. */

import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Manifold from 'manifold-3d/manifold.js';
import { meshLimits } from '../../dist/daemon/piece/mesh/model.js';
import { meshDeskLimits } from '../../dist/daemon/web/meshes/door.js';
import { MeshDesk } from '../../dist/daemon/web/meshes/mesh-desk.js';
import { surveyFile } from '../../dist/daemon/web/meshes/survey.js';
import { alternately, figure, timed } from './measure.js';
import { scratchFolder } from './workshop.js';

const rounds = 7;
const radius = 25;

/** A ball of parallels and meridians, in single precision: 2 (rows - 1) columns triangles. */
function ball(rows, columns) {
  const points = new Float32Array(3 * (2 + (rows - 1) * columns));
  points.set([0, 0, radius], 0);
  points.set([0, 0, -radius], points.length - 3);
  for (let row = 1; row < rows; row += 1) {
    for (let column = 0; column < columns; column += 1) {
      const polar = (Math.PI * row) / rows;
      const around = (2 * Math.PI * column) / columns;
      const across = radius * Math.sin(polar);
      points.set(
        [across * Math.cos(around), across * Math.sin(around), radius * Math.cos(polar)],
        3 * (1 + (row - 1) * columns + column),
      );
    }
  }
  const place = (row, column) => {
    if (row === 0) return 0;
    return row === rows ? points.length / 3 - 1 : 1 + (row - 1) * columns + (column % columns);
  };
  const corners = new Uint32Array(6 * (rows - 1) * columns);
  let at = 0;
  for (let row = 0; row < rows; row += 1) {
    for (let column = 0; column < columns; column += 1) {
      const [a, b] = [place(row, column), place(row + 1, column)];
      const [c, d] = [place(row, column + 1), place(row + 1, column + 1)];
      if (row > 0) {
        corners.set([a, b, c], at);
        at += 3;
      }
      if (row < rows - 1) {
        corners.set([c, b, d], at);
        at += 3;
      }
    }
  }
  return { points, corners };
}

/** A ring of evenly shaped triangles: 2 around across of them. */
function ring(around, across) {
  const points = new Float32Array(3 * around * across);
  const corners = new Uint32Array(6 * around * across);
  for (let i = 0; i < around; i += 1) {
    for (let j = 0; j < across; j += 1) {
      const [u, v] = [(2 * Math.PI * i) / around, (2 * Math.PI * j) / across];
      const out = 20 + 8 * Math.cos(v);
      const a = i * across + j;
      points.set([out * Math.cos(u), out * Math.sin(u), 8 * Math.sin(v)], 3 * a);
      const b = ((i + 1) % around) * across + j;
      const c = ((i + 1) % around) * across + ((j + 1) % across);
      const d = i * across + ((j + 1) % across);
      corners.set([a, b, c, a, c, d], 6 * a);
    }
  }
  return { points, corners };
}

function writeBinary(file, { points, corners }) {
  const count = corners.length / 3;
  const bytes = Buffer.alloc(84 + 50 * count);
  bytes.writeUInt32LE(count, 80);
  for (let corner = 0; corner < corners.length; corner += 1) {
    const at = 96 + 50 * Math.floor(corner / 3) + 12 * (corner % 3);
    for (let axis = 0; axis < 3; axis += 1) {
      bytes.writeFloatLE(points[3 * corners[corner] + axis], at + 4 * axis);
    }
  }
  writeFileSync(file, bytes);
}

function writeAscii(file, { points, corners }) {
  const words = Array.from({ length: points.length / 3 }, (_, point) =>
    [0, 1, 2].map((axis) => points[3 * point + axis].toExponential(6)).join(' '),
  );
  const facets = [];
  for (let at = 0; at < corners.length; at += 3) {
    const lines = [0, 1, 2].map((k) => `      vertex ${words[corners[at + k]]}\n`).join('');
    const normal = '  facet normal 0.000000e+00 0.000000e+00 0.000000e+00\n';
    facets.push(`${normal}    outer loop\n${lines}    endloop\n  endfacet\n`);
  }
  writeFileSync(file, `solid ball\n${facets.join('')}endsolid ball\n`);
}

/** What admesh prints of a file; null where it is not installed. */
function admesh(file) {
  const ran = spawnSync('admesh', [file], { encoding: 'utf8' });
  if (ran.error?.code === 'ENOENT') return null;
  if (ran.status !== 0) throw new Error(`admesh failed: ${ran.stderr}`);
  return ran.stdout;
}

/** From the file on the disk to the answer of the thread. */
async function ours(file, desk) {
  const bytes = readFileSync(file);
  // A buffer of its own, as an upload has: its memory is handed over.
  const survey = await desk.measure(new Uint8Array(bytes.buffer), file);
  if (!survey.measure.closed) throw new Error('The ball is not closed.');
}

/** In a thread that starts anew for each file, or in one that has measured files before. */
async function against(file, { anew }) {
  const kept = new MeshDesk(meshDeskLimits);
  if (!anew) for (let count = 0; count < 2; count += 1) await ours(file, kept);
  const result = await alternately(rounds, {
    ours: async () => {
      const desk = anew ? new MeshDesk(meshDeskLimits) : kept;
      const tookMs = await timed(() => ours(file, desk));
      if (anew) await desk.close();
      return tookMs;
    },
    theirs: () => timed(() => void admesh(file)),
  });
  await kept.close();
  return result;
}

function difference(value, reference) {
  const share = Math.abs(value - reference) / Math.abs(reference);
  return { value: share, sides: `${value} against ${reference}` };
}

async function measuredByManifold({ points, corners }) {
  const top = await Manifold();
  top.setup();
  const mesh = new top.Mesh({ numProp: 3, vertProperties: points, triVerts: corners });
  const solid = top.Manifold.ofMesh(mesh);
  return { area: solid.surfaceArea(), volume: solid.volume() };
}

export async function measure() {
  const folder = scratchFolder();
  const [binary, ascii] = ['ball.stl', 'ball-ascii.stl'].map((name) => join(folder, name));
  const large = ball(709, 709);
  writeBinary(binary, large);
  writeAscii(ascii, ball(471, 471));
  const { measure: own } = surveyFile(readFileSync(binary), binary, meshLimits);
  const solid = await measuredByManifold(large);
  const result = {
    area: difference(own.area, solid.area),
    solid: difference(own.volume, solid.volume),
  };
  // It reckons in single precision, which thin triangles as at the poles of a ball show up.
  const few = join(folder, 'ring.stl');
  writeBinary(few, ring(320, 160));
  const { measure: small } = surveyFile(readFileSync(few), few, meshLimits);
  const printed = admesh(few);
  if (printed === null) {
    const leftOut = { leftOut: 'admesh is not installed (Debian package admesh)' };
    return { ...result, binary: leftOut, binaryAnew: leftOut, ascii: leftOut, volume: leftOut };
  }
  const volume = Number(/Volume\s*:\s*([\d.]+)/.exec(printed)?.[1]);
  return {
    ...result,
    binary: figure(await against(binary, { anew: false }), 'ms', 0),
    binaryAnew: figure(await against(binary, { anew: true }), 'ms', 0),
    ascii: figure(await against(ascii, { anew: false }), 'ms', 0),
    volume: difference(small.volume, volume),
  };
}
