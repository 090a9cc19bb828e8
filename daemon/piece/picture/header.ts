/** What the readers of picture headers share: whole numbers out of bytes, and what they answer. */

/** Size as it is shown, after any turning that the file asks for. */
export interface PixelSize {
  readonly widthPixels: number;
  readonly heightPixels: number;
}

/** A size, or the end of the sentence "The picture …". */
export type HeaderAnswer = PixelSize | string;

export const cutOff = 'is cut off';
export const damaged = 'is damaged';
export const animated = 'is animated; only still ones are kept';

/** Whether these bytes stand at that place. */
export function standsAt(bytes: Uint8Array, at: number, wanted: readonly number[]): boolean {
  return wanted.every((byte, index) => bytes[at + index] === byte);
}

/** The codes of the letters of a tag such as `IHDR`. */
export function letters(tag: string): readonly number[] {
  return Array.from(tag, (letter) => letter.charCodeAt(0));
}

export function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}
