/**
 * Solids and their growth worked out apart from the tool: meshed here and measured by manifold-3d,
 * a general geometry library. Growth is the difference of two volumes; areas of offset solids are
 * not used, because a Minkowski sum may leave folded facets.
 */

import Module, { type CrossSection, type Manifold, type Vec3 } from 'manifold-3d';

const wasm = await Module();
wasm.setup();
export const solid = wasm.Manifold;
export const flat = wasm.CrossSection;

/** Segments of a full turn in the bodies and in the balls they are grown by. */
export const bodySegments = 96;
const ballSegments = 48;

/** Metal, mm3, on a convex body: the volume of its Minkowski sum with a ball, less its own. */
export function convexMetalMm3(body: Manifold, thicknessMm: number): number {
  return body.minkowskiSum(solid.sphere(thicknessMm, ballSegments)).volume() - body.volume();
}

/** A ring swept by a profile whose x is the distance from the axis. */
export function turned(profile: CrossSection, degrees = 360): Manifold {
  return profile.revolve(256, degrees);
}

/** Metal on a ring swept by a profile: the same ring of the profile offset in its plane. */
export function turnedMetalMm3(profile: CrossSection, thicknessMm: number): number {
  const grown = profile.offset(thicknessMm, 'Round', 2, 128);
  return turned(grown).volume() - turned(profile).volume();
}

/** An ellipse or circle about the origin as a flat shape. */
export function oval(lengthMm: number, widthMm: number): CrossSection {
  return flat.circle(1, 512).scale([lengthMm / 2, widthMm / 2]);
}

/** A segment of a circle on a chord along z, its flat side at that distance from the axis. */
export function segment(insideMm: number, widthMm: number, heightMm: number): CrossSection {
  const round = (widthMm ** 2 / 4 + heightMm ** 2) / (2 * heightMm);
  const ball = flat.circle(round, 512).translate([insideMm + heightMm - round, 0]);
  return ball.intersect(
    flat.square([round * 4, round * 4], true).translate([insideMm + 2 * round, 0]),
  );
}

/** The integral of a function over 0 to `to` by Gauss and Legendre's rule of 8 points, in 4 strips. */
export function integral(to: number, integrand: (at: number) => number): number {
  // Abramowitz and Stegun, table 25.4.
  const nodes = [
    [0.18343464249565, 0.362683783378362],
    [0.525532409916329, 0.313706645877887],
    [0.796666477413627, 0.222381034453374],
    [0.960289856497536, 0.101228536290376],
  ] as const;
  const strips = 4;
  const half = to / strips / 2;
  let sum = 0;
  for (let strip = 0; strip < strips; strip += 1) {
    const middle = (2 * strip + 1) * half;
    for (const [node, weight] of nodes) {
      sum += weight * half * (integrand(middle - node * half) + integrand(middle + node * half));
    }
  }
  return sum;
}

function offsetMm2(shape: CrossSection, byMm: number): number {
  return shape.offset(byMm, 'Round', 2, 256).area();
}

/** Volume within `reachMm` of one side of a flat face, slice by slice. */
function besideMm3(face: CrossSection, reachMm: number): number {
  // By the angle from the plane, so that the slices lie closest where the rim turns over.
  return integral(Math.PI / 2, (angle) => {
    const slice = offsetMm2(face, reachMm * Math.cos(angle));
    return slice * reachMm * Math.cos(angle);
  });
}

/** Metal on a sheet with a half-round rim round a flat face. */
export function rimmedMetalMm3(face: CrossSection, rimMm: number, thicknessMm: number): number {
  return 2 * (besideMm3(face, rimMm + thicknessMm) - besideMm3(face, rimMm));
}

/**
 * Metal on an upright rim of wall `wallMm` and height `heightMm` round a stone: on its outside and
 * top, and on its inside where it is empty; none below its foot, none over a stone.
 */
export function bezelMetalMm3(
  stone: CrossSection,
  rim: { readonly wallMm: number; readonly heightMm: number; readonly empty: boolean },
  thicknessMm: number,
): number {
  const outer = stone.offset(rim.wallMm, 'Round', 2, 256);
  const body = rim.empty ? outer.subtract(stone) : outer;
  const beside = (offsetMm2(body, thicknessMm) - body.area()) * rim.heightMm;
  const above = besideMm3(body, thicknessMm);
  // What lies above the stone does not count.
  return beside + above - (rim.empty ? 0 : stone.area() * thicknessMm);
}

type Path = (share: number) => Vec3;

function minus(a: Vec3, b: Vec3): Vec3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function unit(a: Vec3): Vec3 {
  const length = Math.hypot(...a);
  return [a[0] / length, a[1] / length, a[2] / length];
}

/** Round wire along a path that never runs along `away`, with flat ends, as a mesh. */
export function sweptWire(
  path: Path,
  radiusMm: number,
  steps: number,
  away: Vec3,
  around = 32,
): Manifold {
  // Facets cut corners; this radius gives the section the area of its circle.
  const radius = radiusMm * Math.sqrt((2 * Math.PI) / around / Math.sin((2 * Math.PI) / around));
  const vertices: number[] = [];
  for (let step = 0; step <= steps; step += 1) {
    const here = path(step / steps);
    const along = unit(minus(path((step + 0.01) / steps), path((step - 0.01) / steps)));
    const first = unit(cross(along, away));
    const second = cross(along, first);
    for (let turn = 0; turn < around; turn += 1) {
      const angle = (2 * Math.PI * turn) / around;
      const [x, y] = [radius * Math.cos(angle), radius * Math.sin(angle)];
      vertices.push(
        ...here.map((value, axis) => value + x * (first[axis] ?? 0) + y * (second[axis] ?? 0)),
      );
    }
  }
  const end = vertices.length / 3;
  vertices.push(...path(0), ...path(1));
  const triangles: number[] = [];
  for (let turn = 0; turn < around; turn += 1) {
    const next = (turn + 1) % around;
    const last = steps * around;
    triangles.push(end, next, turn, end + 1, last + turn, last + next);
    for (let ring = 0; ring < last; ring += around) {
      const [a, b, c, d] = [ring + turn, ring + next, ring + around + turn, ring + around + next];
      triangles.push(a, b, d, a, d, c);
    }
  }
  const mesh = new wasm.Mesh({
    numProp: 3,
    vertProperties: new Float32Array(vertices),
    triVerts: new Uint32Array(triangles),
  });
  return solid.ofMesh(mesh);
}

/** A helix about z. */
export function helix(diameterMm: number, pitchMm: number, turns: number, start = 0): Path {
  return (share) => {
    const angle = 2 * Math.PI * turns * share;
    const [x, y] = [Math.cos(angle + start), Math.sin(angle + start)];
    return [(diameterMm / 2) * x, (diameterMm / 2) * y, pitchMm * turns * share];
  };
}
