/** The kinds of part a piece can be made of. */

import type { PartDefinition } from './model.ts';
import { ballPart } from './parts/ball.ts';
import { bandPart } from './parts/band.ts';
import { beadTexturePart } from './parts/bead-texture.ts';
import { bezelOvalPart } from './parts/bezel-oval.ts';
import { bezelPearPart } from './parts/bezel-pear.ts';
import { bezelRectanglePart } from './parts/bezel-rectangle.ts';
import { bezelRoundPart } from './parts/bezel-round.ts';
import { boxPart } from './parts/box.ts';
import { chainPart } from './parts/chain.ts';
import { coilPart } from './parts/coil.ts';
import { conePart } from './parts/cone.ts';
import { crystalPart } from './parts/crystal.ts';
import { discPart } from './parts/disc.ts';
import { domePart } from './parts/dome.ts';
import { ellipsoidPart } from './parts/ellipsoid.ts';
import { halfRoundBandPart } from './parts/half-round-band.ts';
import { hangerPart } from './parts/hanger.ts';
import { leafPart } from './parts/leaf.ts';
import { loopPart } from './parts/loop.ts';
import { measuredPart } from './parts/measured.ts';
import { meshPart } from './parts/mesh.ts';
import { outlinePart } from './parts/outline.ts';
import { ovalDomePart } from './parts/oval-dome.ts';
import { rodPart } from './parts/rod.ts';
import { shankPart } from './parts/shank.ts';
import { sheetPart } from './parts/sheet.ts';
import { tubePart } from './parts/tube.ts';
import { twistedPairPart } from './parts/twisted-pair.ts';
import { wirePart } from './parts/wire.ts';

/** Every kind of part, in the order in which a maker looks for them. */
export const partDefinitions: readonly PartDefinition[] = [
  wirePart,
  loopPart,
  shankPart,
  bandPart,
  halfRoundBandPart,
  twistedPairPart,
  coilPart,
  chainPart,
  sheetPart,
  discPart,
  leafPart,
  outlinePart,
  ballPart,
  domePart,
  ovalDomePart,
  ellipsoidPart,
  conePart,
  crystalPart,
  rodPart,
  tubePart,
  boxPart,
  bezelRoundPart,
  bezelOvalPart,
  bezelRectanglePart,
  bezelPearPart,
  beadTexturePart,
  hangerPart,
  measuredPart,
  meshPart,
];

/** The definition of a kind of part, or undefined where there is no such kind. */
export function partDefinition(kind: string): PartDefinition | undefined {
  return partDefinitions.find((definition) => definition.kind === kind);
}
