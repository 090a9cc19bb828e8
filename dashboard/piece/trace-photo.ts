/** The photo of a tracer: chosen, made small, kept by the bench, and found again after a reload. */

import { ApiError } from '../api.ts';
import type { OutlineDraft } from './draft.ts';
import { keepPhoto, photoFrom, pictureAddress, type Photo } from './photo.ts';
import type { Size } from './trace.ts';
import { photoWords } from '#words/photo';
import { traceWords } from '#words/trace';

export class TracePhoto {
  readonly #changed: () => void;
  readonly #arrived: () => void;
  #localUrl = '';
  #shownId: string | null = null;
  #loaded: Size | null = null;
  /** Not kept yet; kept in memory so that it can be sent again. */
  #unkept: Photo | null = null;
  lost = false;
  status = '';
  error = '';

  /** Calls `changed` whenever there is something else to show, `arrived` when a photo can be shown. */
  constructor(changed: () => void, arrived: () => void) {
    this.#changed = changed;
    this.#arrived = arrived;
  }

  /** True while there is a photo that the bench has refused or not got. */
  get canTryAgain(): boolean {
    return this.#unkept !== null && this.error !== '';
  }

  /** The address that the photo of a trace is shown from; empty where there is none. */
  source({ pictureId }: OutlineDraft): string {
    if (this.#localUrl !== '' && pictureId === this.#shownId) return this.#localUrl;
    return pictureId !== null && !this.lost ? pictureAddress(pictureId) : '';
  }

  /** Whether a trace has its photo, has lost it, or goes on without one; nothing traced lacks nothing. */
  standing(trace: OutlineDraft): 'here' | 'gone' | 'none' {
    if (this.size(trace) === null || this.source(trace) !== '') return 'here';
    return trace.pictureId === null ? 'none' : 'gone';
  }

  /** The photo's size; the room of the trace where the photo is gone; null without either. */
  size({ pictureWidth: width, pictureHeight: height, picturePoints }: OutlineDraft): Size | null {
    if (width > 0 && height > 0) return { width, height };
    if (this.#loaded) return this.#loaded;
    if (picturePoints.length === 0) return null;
    return {
      width: 1.1 * Math.max(...picturePoints.map(({ x }) => x)),
      height: 1.1 * Math.max(...picturePoints.map(({ y }) => y)),
    };
  }

  /** Looks for the photo of another trace: its size, and whether the bench still has it. */
  show({ pictureId }: OutlineDraft): void {
    if (pictureId === this.#shownId) return;
    this.#shownId = pictureId;
    this.lost = false;
    this.#loaded = null;
    this.#forgetLocal();
    if (pictureId === null) return;
    const image = new Image();
    const settle = (lost: boolean): void => {
      if (this.#shownId !== pictureId) return;
      this.lost = lost;
      if (lost) return this.#changed();
      this.#loaded = { width: image.naturalWidth, height: image.naturalHeight };
      this.#arrived();
    };
    image.addEventListener('load', () => settle(false));
    image.addEventListener('error', () => settle(true));
    image.src = pictureAddress(pictureId);
  }

  /** Makes a chosen file small and has it kept; null, with the reason to show, for no picture. */
  async choose(file: File): Promise<{ readonly id: string | null; readonly size: Size } | null> {
    this.error = '';
    this.#say(traceWords.preparing);
    let photo: Photo;
    try {
      photo = await photoFrom(file);
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : photoWords.notPicture;
      this.#say('');
      return null;
    }
    const id = await this.#keep(photo);
    this.#forgetLocal();
    this.#localUrl = URL.createObjectURL(photo.blob);
    this.#shownId = id;
    this.lost = false;
    return { id, size: photo };
  }

  /** Sends the photo again; its id once it is kept. */
  async keepAgain(): Promise<string | null> {
    const id = this.#unkept ? await this.#keep(this.#unkept) : null;
    if (id !== null) this.#shownId = id;
    return id;
  }

  forget(): void {
    this.#forgetLocal();
    // Looked for anew should the tracer come back.
    this.#shownId = null;
  }

  async #keep(photo: Photo): Promise<string | null> {
    this.#unkept = photo;
    this.#say(traceWords.keeping);
    try {
      const { id } = await keepPhoto(photo);
      this.#unkept = null;
      this.error = '';
      this.#say(traceWords.kept);
      return id;
    } catch (error) {
      this.error = traceWords.notKept(error instanceof ApiError ? error.message : '');
      this.#say('');
      return null;
    }
  }

  #say(status: string): void {
    this.status = status;
    this.#changed();
  }

  #forgetLocal(): void {
    if (this.#localUrl !== '') URL.revokeObjectURL(this.#localUrl);
    this.#localUrl = '';
  }
}
