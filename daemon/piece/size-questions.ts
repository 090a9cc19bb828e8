/** Questions about sizes as data, for the page and the API alike: each is answered or refused by name. */

import { found, refused } from './answer.ts';
import type { Answer, Span } from './answer.ts';
import {
  boreShareSource,
  depositForFinishedRing,
  depositForFinishedWire,
  startForFinishedRing,
  usualBoreShare,
} from './blanks.ts';
import type { FinishedRing, RingStart, RingToFill } from './blanks.ts';
import { gaugeScales, nearestGauge, parseWireDiameterMm } from './gauges.ts';
import type { GaugeScaleId } from './gauges.ts';
import {
  insideDiameterMmFromSize,
  nearestRingSize,
  parseRingSize,
  ringScales,
  ringSizeWords,
} from './ring-scales.ts';
import type { RingScaleId } from './ring-scales.ts';

/** The same without the share of the bore where the asker knows no better than the usual one. */
type WithUsualShare<Ring extends { readonly boreShare: Span }> = Omit<Ring, 'boreShare'> & {
  readonly boreShare?: Span | undefined;
};

export type SizeQuestion =
  /** What a typed ring size is across, and in the other scales. */
  | { readonly kind: 'ringSize'; readonly scale: RingScaleId; readonly typed: string }
  | { readonly kind: 'insideDiameter'; readonly insideDiameterMm: number }
  /** What a typed wire is across, and in both gauges. */
  | { readonly kind: 'wire'; readonly typed: string }
  | ({ readonly kind: 'startForRing' } & WithUsualShare<FinishedRing>)
  | ({ readonly kind: 'depositForRing' } & WithUsualShare<RingToFill>)
  | {
      readonly kind: 'depositForWire';
      readonly startDiameterMm: number;
      readonly finishedDiameterMm: number;
    };

/** A diameter in the words of one scale; `size` is null beyond its ends. */
export interface RingReading {
  readonly scale: RingScaleId;
  readonly size: number | null;
  readonly words: string;
}

export interface GaugeReading {
  readonly scale: GaugeScaleId;
  readonly gauge: number | null;
  readonly words: string;
}

/** Which share of the deposit was taken for the bore; the source is null for the asker's own. */
export interface ShareTaken {
  readonly boreShare: Span;
  readonly boreShareSource: string | null;
}

/** Lengths in mm. */
export type SizeAnswer =
  | {
      readonly kind: 'ring';
      readonly insideDiameterMm: number;
      readonly circumferenceMm: number;
      readonly scales: readonly RingReading[];
    }
  | {
      readonly kind: 'wire';
      readonly diameterMm: number;
      readonly gauges: readonly GaugeReading[];
    }
  | ({ readonly kind: 'ringStart' } & RingStart & ShareTaken)
  | ({ readonly kind: 'ringDeposit'; readonly deposit: Span } & ShareTaken)
  | { readonly kind: 'wireDeposit'; readonly depositMm: number };

function ringAnswer(insideDiameterMm: number): SizeAnswer {
  const scales = ringScales.map(({ id }) => ({
    scale: id,
    size: nearestRingSize(id, insideDiameterMm)?.size ?? null,
    words: ringSizeWords(id, insideDiameterMm),
  }));
  const circumferenceMm = Math.PI * insideDiameterMm;
  return { kind: 'ring', insideDiameterMm, circumferenceMm, scales };
}

// As wide as any ring or bangle that is asked about, mm.
const widestMm = 1000;

function insideDiameterAnswer(insideDiameterMm: number): Answer<SizeAnswer> {
  return insideDiameterMm > 0 && insideDiameterMm <= widestMm
    ? found(ringAnswer(insideDiameterMm))
    : refused('insideDiameterMm', String(insideDiameterMm), `above 0 and at most ${widestMm} mm`);
}

function wireAnswer(diameterMm: number): SizeAnswer {
  const gauges = gaugeScales.map(({ id, name }) => {
    const nearest = nearestGauge(id, diameterMm);
    const words = nearest?.words ?? `beyond the ${name} scale`;
    return { scale: id, gauge: nearest?.gauge ?? null, words };
  });
  return { kind: 'wire', diameterMm, gauges };
}

function shareTaken(given: Span | undefined): ShareTaken {
  if (given !== undefined) return { boreShare: given, boreShareSource: null };
  return { boreShare: usualBoreShare, boreShareSource };
}

function mapped<From, To>(answer: Answer<From>, to: (value: From) => To): Answer<To> {
  return answer.ok ? found(to(answer.value)) : answer;
}

/** Answers a question about sizes; what it refuses names the field, the value and the bound. */
export function answerSizeQuestion(question: SizeQuestion): Answer<SizeAnswer> {
  switch (question.kind) {
    case 'ringSize': {
      const { scale, typed } = question;
      return mapped(parseRingSize(scale, typed, 'typed'), (size) =>
        ringAnswer(insideDiameterMmFromSize(scale, size)),
      );
    }
    case 'insideDiameter':
      return insideDiameterAnswer(question.insideDiameterMm);
    case 'wire':
      return mapped(parseWireDiameterMm(question.typed, 'typed'), wireAnswer);
    case 'startForRing': {
      const share = shareTaken(question.boreShare);
      return mapped(startForFinishedRing({ ...question, ...share }), (start) => ({
        kind: 'ringStart',
        ...start,
        ...share,
      }));
    }
    case 'depositForRing': {
      const share = shareTaken(question.boreShare);
      return mapped(depositForFinishedRing({ ...question, ...share }), (deposit) => ({
        kind: 'ringDeposit',
        deposit,
        ...share,
      }));
    }
    case 'depositForWire':
      return mapped(depositForFinishedWire(question), (depositMm) => ({
        kind: 'wireDeposit',
        depositMm,
      }));
  }
}
