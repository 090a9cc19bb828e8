/** Asks the daemon what a piece comes to while it is typed; the newest question wins. */

import type { PieceDescription } from '../../daemon/piece/model.ts';
import type { MeasuredPiece } from '../../daemon/run/measured-piece.ts';
import { ApiError, send } from '../api.ts';
import { pieceOf, type PieceDraft } from './draft.ts';

/** What the daemon found of a piece, with the keys that its parts have in the draft. */
export interface Measurement {
  readonly keys: readonly string[];
  readonly answer: MeasuredPiece;
}

/** What is wrong with a piece that cannot be measured at all, as an answer. */
function refusal({ parts }: PieceDescription, { problems }: ApiError): MeasuredPiece {
  return { problems, parts: parts.map(() => null), whole: null };
}

export class Measuring {
  /** The last answer there was; null before the first. */
  newest: Measurement | null = null;
  readonly #changed: () => void;
  #asked = '';
  #answered = '';
  #asking: AbortController | null = null;
  #answer: Promise<MeasuredPiece | null> = Promise.resolve(null);

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** The answer for this very piece; null while there is none. */
  known(draft: PieceDraft): MeasuredPiece | null {
    return JSON.stringify(pieceOf(draft).piece) === this.#answered
      ? (this.newest?.answer ?? null)
      : null;
  }

  /**
   * Asks for a piece, once for each state of it. Resolves to null where another one was asked for
   * meanwhile; rejects with an ApiError where there is no answer.
   */
  ask(draft: PieceDraft): Promise<MeasuredPiece | null> {
    const { piece } = pieceOf(draft);
    const text = JSON.stringify(piece);
    if (text === this.#asked) return this.#answer;
    this.#asking?.abort();
    this.#asked = text;
    const asking = new AbortController();
    this.#asking = asking;
    this.#answer = this.#fetch(piece, draft, asking.signal);
    return this.#answer;
  }

  async #fetch(
    piece: PieceDescription,
    { parts }: PieceDraft,
    signal: AbortSignal,
  ): Promise<MeasuredPiece | null> {
    let answer: MeasuredPiece;
    try {
      answer = await send<MeasuredPiece>('POST', '/api/parts/measure', piece, signal);
    } catch (error) {
      if (signal.aborted) return null;
      if (!(error instanceof ApiError) || error.problems.length === 0) {
        this.#asked = '';
        throw error;
      }
      answer = refusal(piece, error);
    }
    if (signal.aborted) return null;
    this.newest = { keys: parts.map(({ key }) => key), answer };
    this.#answered = this.#asked;
    this.#changed();
    return answer;
  }
}
