/** Numbers as makers type them: decimals with a point or a comma, and fractions such as 7 1/2 or 7½. */

const vulgarFractions: Readonly<Record<string, string>> = {
  '½': '1/2',
  '¼': '1/4',
  '¾': '3/4',
  '⅛': '1/8',
  '⅜': '3/8',
  '⅝': '5/8',
  '⅞': '7/8',
};

const decimal = /^\d{1,6}(?:\.\d{1,9})?$|^\.\d{1,9}$/;
const fraction = /^(?:(\d{1,6})[ -])?(\d{1,3})\/(\d{1,3})$/;

/** Lower case, single spaces, fractions written out and a decimal comma turned into a point. */
export function tidied(text: string): string {
  return text
    .replaceAll(/[½¼¾⅛⅜⅝⅞]/g, (sign) => ` ${vulgarFractions[sign] ?? sign}`)
    .replaceAll('⁄', '/')
    .replaceAll(/(\d),(\d)/g, '$1.$2')
    .replaceAll(/\s*\/\s*/g, '/')
    .replaceAll(/\s+/g, ' ')
    .trim()
    .toLowerCase();
}

/** The number that a tidied text means, 0 or more, or null where it is none. */
export function numberOf(text: string): number | null {
  if (decimal.test(text)) return Number(text);
  const parts = fraction.exec(text);
  if (parts === null) return null;
  const [, whole = '0', above, below] = parts;
  const value = Number(whole) + Number(above) / Number(below);
  return Number.isFinite(value) ? value : null;
}
