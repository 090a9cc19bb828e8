/** Makes a made-up language of the words in English: each text marked, and a third longer. */

export const open = '⟦';
export const close = '⟧';

/** A third longer, by its own beginning: words as long as its own, and no letters of another script. */
function longer(text: string): string {
  const plain = text.replaceAll(/[⟦⟧]/g, '');
  const more = plain.slice(0, Math.ceil(plain.length / 3));
  return `${open}${text}${/\s/.test(plain) ? ' ' : ''}${more}${close}`;
}

/** The same words with every text marked; functions keep their parameters. */
export function madeUp<Words>(words: Words): Words {
  const made = (value: unknown): unknown => {
    if (typeof value === 'string') return value === '' ? '' : longer(value);
    if (typeof value === 'function') {
      return (...given: unknown[]) => made(Reflect.apply(value, null, given));
    }
    if (Array.isArray(value)) return value.map(made);
    if (typeof value !== 'object' || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, made(one)]));
  };
  return made(words) as Words;
}
