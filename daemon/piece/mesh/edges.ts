/** Pairs the edges of triangles: which side lies against which, and where a surface is open. */

/**
 * Half-edge `h = 3 f + k` of triangle `f` runs from its corner `k` to the next. `twin[h]` is the
 * half-edge of the neighbour along the same edge, -1 at an open edge.
 */
export interface Edges {
  readonly twin: Int32Array;
  /** Whether every edge is known to be run along once each way. */
  readonly agreed: boolean;
  readonly openEdges: number;
  /** Edges where more than two triangles meet. */
  readonly nonManifoldEdges: number;
}

/** The half-edge after `h` in its triangle. */
export function nextOf(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}

/** The half-edge before `h` in its triangle. */
export function previousOf(h: number): number {
  return h % 3 === 0 ? h + 2 : h - 1;
}

/** More triangles than this around one edge are no solid: they are paired as they come. */
const mostAround = 64;

/** The short way looks at no more edges than this for each edge on average. */
const stepsPerEdge = 8;

/** More than this many edges at a vertex are sorted: comparing each with each would take too long. */
const sortAbove = 24;

/** Pairs edges by the vertices they join. Needs triangles of three different vertices each. */
export function pairEdges(corners: Int32Array, vertices: Float64Array): Edges {
  const clean = pairCleanly(corners, vertices.length / 3);
  if (clean !== null) return { twin: clean, agreed: true, openEdges: 0, nonManifoldEdges: 0 };
  return pairAny(corners, vertices);
}

interface Groups {
  /** Where the group of each vertex begins, and one more for the end of the last. */
  readonly starts: Int32Array;
  /** The half-edges of all groups. */
  readonly order: Int32Array;
  /** The other vertex of each half-edge in `order`. */
  readonly others: Int32Array;
}

/**
 * The short way for a mesh without fault, as most are: every edge is run along once each way. Null
 * where that does not hold, or where so many edges meet in a vertex that it is no short way.
 */
function pairCleanly(corners: Int32Array, vertexCount: number): Int32Array | null {
  const groups = groupUpward(corners, vertexCount);
  return 2 * groups.order.length === corners.length ? matchDownward(corners, groups) : null;
}

/** The half-edges that run from a lower to a higher vertex, by the lower one. */
function groupUpward(corners: Int32Array, vertexCount: number): Groups {
  const starts = new Int32Array(vertexCount + 1);
  for (let f = 0; f < corners.length; f += 3) {
    const a = corners[f] as number;
    const b = corners[f + 1] as number;
    const c = corners[f + 2] as number;
    if (a < b) starts[a] = (starts[a] as number) + 1;
    if (b < c) starts[b] = (starts[b] as number) + 1;
    if (c < a) starts[c] = (starts[c] as number) + 1;
  }
  let upward = 0;
  for (let vertex = 0; vertex <= vertexCount; vertex += 1) {
    // Each start moves up to the end of its group, and back down while the group is filled.
    upward += starts[vertex] as number;
    starts[vertex] = upward;
  }
  const order = new Int32Array(upward);
  const others = new Int32Array(upward);
  for (let f = 0; f < corners.length; f += 3) {
    let from = corners[f + 2] as number;
    let h = f + 2;
    for (let next = f; next < f + 3; next += 1) {
      const to = corners[next] as number;
      if (from < to) {
        const place = (starts[from] as number) - 1;
        starts[from] = place;
        order[place] = h;
        others[place] = to;
      }
      from = to;
      h = next;
    }
  }
  return { starts, order, others };
}

/** Finds for each half-edge that runs down the one that runs up along the same edge. */
function matchDownward(corners: Int32Array, { starts, order, others }: Groups): Int32Array | null {
  const twin = new Int32Array(corners.length);
  let patience = stepsPerEdge * corners.length;
  for (let f = 0; f < corners.length; f += 3) {
    let from = corners[f + 2] as number;
    let h = f + 2;
    for (let next = f; next < f + 3; next += 1) {
      const to = corners[next] as number;
      if (from > to) {
        const first = starts[to] as number;
        const end = starts[to + 1] as number;
        let place = -1;
        for (let at = first; at < end; at += 1) {
          if (others[at] !== from) continue;
          // Twice the same way: more than two triangles meet here.
          if (place >= 0) return null;
          place = at;
        }
        patience -= end - first;
        if (place < 0 || patience < 0) return null;
        const partner = order[place] as number;
        // Taken: a second edge the same way finds nothing.
        others[place] = -1;
        twin[h] = partner;
        twin[partner] = h;
      }
      from = to;
      h = next;
    }
  }
  return twin;
}

/** The long way, which counts what is open and sorts out where more than two triangles meet. */
function pairAny(corners: Int32Array, vertices: Float64Array): Edges {
  const { starts, order, others } = groupByLowerVertex(corners, vertices.length / 3);
  const twin = new Int32Array(corners.length).fill(-1);
  let openEdges = 0;
  let nonManifoldEdges = 0;
  const crowd: number[] = [];
  for (let vertex = 0; vertex < starts.length - 1; vertex += 1) {
    const first = starts[vertex] as number;
    const end = starts[vertex + 1] as number;
    if (end - first > sortAbove) sortGroup(order, others, first, end);
    for (let at = first; at < end; at += 1) {
      const other = others[at] as number;
      if (other < 0) continue;
      let found = 0;
      let partner = -1;
      for (let beside = at + 1; beside < end; beside += 1) {
        if (others[beside] === other) {
          found += 1;
          partner = beside;
        } else if (end - first > sortAbove) break;
      }
      if (found === 1) {
        twin[order[at] as number] = order[partner] as number;
        twin[order[partner] as number] = order[at] as number;
        others[partner] = -1;
      } else if (found === 0) openEdges += 1;
      else {
        nonManifoldEdges += 1;
        crowd.length = 0;
        for (let beside = at; beside < end; beside += 1) {
          if (others[beside] !== other) {
            if (end - first > sortAbove) break;
            continue;
          }
          crowd.push(order[beside] as number);
          others[beside] = -1;
        }
        openEdges += pairAround(crowd, corners, vertices, twin);
      }
    }
  }
  return { twin, agreed: false, openEdges, nonManifoldEdges };
}

/** A counting sort of half-edges by the lower of their two vertices. */
function groupByLowerVertex(corners: Int32Array, vertexCount: number): Groups {
  const starts = new Int32Array(vertexCount + 1);
  const count = corners.length;
  for (let f = 0; f < count; f += 3) {
    const a = corners[f] as number;
    const b = corners[f + 1] as number;
    const c = corners[f + 2] as number;
    const ab = (a < b ? a : b) + 1;
    const bc = (b < c ? b : c) + 1;
    const ca = (c < a ? c : a) + 1;
    starts[ab] = (starts[ab] as number) + 1;
    starts[bc] = (starts[bc] as number) + 1;
    starts[ca] = (starts[ca] as number) + 1;
  }
  for (let vertex = 0; vertex < vertexCount; vertex += 1) {
    starts[vertex + 1] = (starts[vertex + 1] as number) + (starts[vertex] as number);
  }
  const fill = starts.slice();
  const order = new Int32Array(count);
  const others = new Int32Array(count);
  for (let f = 0; f < count; f += 3) {
    let from = corners[f + 2] as number;
    for (let k = 0; k < 3; k += 1) {
      const to = corners[f + k] as number;
      const low = from < to ? from : to;
      const place = fill[low] as number;
      fill[low] = place + 1;
      order[place] = f + (k === 0 ? 2 : k - 1);
      others[place] = from < to ? to : from;
      from = to;
    }
  }
  return { starts, order, others };
}

function sortGroup(order: Int32Array, others: Int32Array, first: number, end: number): void {
  const places = Array.from({ length: end - first }, (_, index) => first + index);
  places.sort((a, b) => (others[a] as number) - (others[b] as number));
  const sortedOrder = places.map((place) => order[place] as number);
  const sortedOthers = places.map((place) => others[place] as number);
  order.set(sortedOrder, first);
  others.set(sortedOthers, first);
}

/**
 * Pairs the triangles around a crowded edge two by two through the solid, so that bodies that touch
 * in an edge stay apart. Gives how many were left over.
 */
function pairAround(
  crowd: readonly number[],
  corners: Int32Array,
  vertices: Float64Array,
  twin: Int32Array,
): number {
  const [first = 0] = crowd;
  const from = corners[first] as number;
  const to = corners[nextOf(first)] as number;
  if (crowd.length > mostAround) return pairAsTheyCome(crowd, twin);
  const angles = anglesAround(crowd, from, to, corners, vertices);
  const round = crowd
    .map((h, index) => ({ h, angle: angles[index] ?? 0, along: corners[h] === from }))
    .toSorted((a, b) => a.angle - b.angle);
  const rest = new Set(round);
  // The solid of a triangle that runs along the edge lies on the side of falling angles.
  for (const one of round.filter(({ along }) => along)) {
    const at = round.indexOf(one);
    for (let step = 1; step < round.length; step += 1) {
      const other = round[(at + round.length - step) % round.length];
      if (other === undefined || other.along || !rest.has(other)) continue;
      twin[one.h] = other.h;
      twin[other.h] = one.h;
      rest.delete(one);
      rest.delete(other);
      break;
    }
  }
  // What is wound against all others still is a surface: it is turned later.
  return pairAsTheyCome(
    [...rest].map(({ h }) => h),
    twin,
  );
}

function pairAsTheyCome(halves: readonly number[], twin: Int32Array): number {
  for (let at = 0; at + 1 < halves.length; at += 2) {
    const one = halves[at] as number;
    const other = halves[at + 1] as number;
    twin[one] = other;
    twin[other] = one;
  }
  return halves.length % 2;
}

/** The angle of each triangle of the crowd around the edge, from that of the first. */
function anglesAround(
  crowd: readonly number[],
  from: number,
  to: number,
  corners: Int32Array,
  vertices: Float64Array,
): readonly number[] {
  const at = (vertex: number, axis: number): number => vertices[3 * vertex + axis] as number;
  const axis = [0, 1, 2].map((k) => at(to, k) - at(from, k));
  const length = Math.hypot(...axis);
  const unit = axis.map((value) => value / length) as [number, number, number];
  const sideways = crowd.map((h) => {
    const tip = corners[previousOf(h)] as number;
    const arm = [0, 1, 2].map((k) => at(tip, k) - at(from, k)) as [number, number, number];
    const along = arm[0] * unit[0] + arm[1] * unit[1] + arm[2] * unit[2];
    return arm.map((value, k) => value - along * (unit[k] ?? 0)) as [number, number, number];
  });
  const [zero = [1, 0, 0]] = sideways;
  const quarter = [
    unit[1] * zero[2] - unit[2] * zero[1],
    unit[2] * zero[0] - unit[0] * zero[2],
    unit[0] * zero[1] - unit[1] * zero[0],
  ] as const;
  return sideways.map((arm) =>
    Math.atan2(
      arm[0] * quarter[0] + arm[1] * quarter[1] + arm[2] * quarter[2],
      arm[0] * zero[0] + arm[1] * zero[1] + arm[2] * zero[2],
    ),
  );
}
