/** Recognises a cyanide bath by the words, formulas and slips in which it may be named. */

// Words are compared in lower case and without accents or subscripts, so that K[Au(CN)₂] is read.
function plain(text: string): string {
  return text
    .normalize('NFKD')
    .replaceAll(/\p{Mark}/gu, '')
    .toLowerCase();
}

// Spelled right, spelled wrong (cianide, cynaide), and in the languages of a European bench.
const word = String.raw`(?:[csz][iy]+[ae]*n+[ay]*[iy]+[ay]*d(?:e|es|s)?|cyanur(?:e|es)|cianur[oai]|cianeto|cyjan(?:ek|k)\p{L}*)`;
const doubt = String.raw`(?<!(?:(?<!\p{L})(?:no|not|never|hardly|barely)|n't)[\s-]+(?:\p{L}+\s+)?)`;
const free = String.raw`(?:free|frei(?:e[mnrs]?)?|los|less)(?!\p{L}|\s*[:=]?\s*\d)`;

// What a bath may say of itself and still be welcome; taken out before the search below.
const harmless: readonly RegExp[] = [
  new RegExp(String.raw`${doubt}(?<!\p{L})non[\s-]*(?:${word}|cn(?!\p{L}))`, 'gu'),
  new RegExp(String.raw`${doubt}(?<!\p{L})(?:${word}|cn|cyan|zyan)[\s-]*${free}`, 'gu'),
  new RegExp(String.raw`${doubt}(?<!\p{L})free (?:of|from) (?:any )?${word}`, 'gu'),
  new RegExp(
    String.raw`(?<!\p{L})(?:no|without)(?: any)? ${word}(?!\p{L}|[\s-]*(?:free|frei|los|less))`,
    'gu',
  ),
];

const signs: readonly RegExp[] = [
  new RegExp(word, 'u'),
  // Letters held apart: c-y-a-n-i-d-e, cyan ide.
  /(?<!\p{L})c[\W_]*y[\W_]*a[\W_]*n[\W_]*i[\W_]*d(?:[\W_]*e)?(?!\p{L})/u,
  // Complexes: dicyanoaurate, cyanocuprate.
  /cyano-?(?:aur|argent|cupr|zinc|cadm|ferr)/u,
  // The acid by its old and its proper name.
  /pruss(?:ic|iate)|hydrocyanic/u,
  // Formulas: KCN, NaCN, AgCN, CuCN, KAu(CN)2, K[Ag(CN)2], and CN by itself.
  /(?<!\p{L})(?:k|na|h|ag|au|cu|zn|cd|ca|kau|kag|kcu|nacu|naau|naag)?\d*cn(?!\p{L})/u,
  /[([]cn[)\]]/u,
  // Other scripts.
  /氰|シアン化|青化|циан[иі]|ціані|κυανι/u,
];

/**
 * Whether a text means a cyanide bath. Letter case, spelling slips and formulas are seen through;
 * `non-cyanide` and `cyanide-free` do not count.
 */
export function meansCyanideBath(text: string): boolean {
  const rest = harmless.reduce((kept, phrase) => kept.replaceAll(phrase, ' '), plain(text));
  return signs.some((sign) => sign.test(rest));
}
