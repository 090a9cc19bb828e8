/** Every text for people stands in the words of a language, and what looks for others can tell. */

import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { handwritten, textsIn, textsInMarkup, textsInStyles } from './page-texts.ts';

const folder = fileURLToPath(new URL('../../dashboard', import.meta.url));

/** They run where the dashboard is built, and speak to whoever builds it. */
const tools = ['build-language.ts', 'vite.config.ts'];

const files = readdirSync(folder, { recursive: true, encoding: 'utf8' })
  .filter((name) => !name.startsWith('words/') && !tools.includes(name))
  .toSorted();
const contentOf = (name: string): string => readFileSync(join(folder, name), 'utf8');
const sources = files.filter((name) => name.endsWith('.ts'));

/** Names that look like words: of keys, of the browser's own objects, of classes and selectors. */
const names: readonly string[] = [
  'alarm/notices.ts Notification',
  'explained-term.ts Escape',
  'focus-keeper.ts Enter',
  'log/report-curves.ts event grave',
  'piece/chooser.ts Enter',
  'piece/materials-list.ts Enter',
  "piece/part-form.ts [data-act='${} ${}']",
  'piece/part-form.ts .adder > summary',
  'plan-undo.ts input:not([type=checkbox], [type=range], [type=file]), textarea, select',
  // Which button of a part takes the focus, by its name in the page.
  'piece/part-form.ts up',
  'piece/part-form.ts down',
];

/** Puts figures of the daemon's sentences into other units: it knows their English. */
const readsTheDaemon = 'units.ts';

/** Where numbers are rounded for drawings, fields and files, which are the same in every language. */
const byHand: readonly string[] = [
  'ledger/entry-draft.ts',
  'log/event-marks.ts',
  'log/report-curves.ts',
  'piece/draft.ts',
  'piece/trace-drawing.ts',
  'sensors.ts',
  'setup/form.ts',
  'setup/served-supply.ts',
];
/** Asks the browser for its zone, and writes nothing. */
const zoneOfDevice = 'Intl.DateTimeFormat().resolvedOptions().timeZone';

describe('the dashboard', () => {
  it('keeps every text for people in the words of a language', () => {
    const judged = sources.filter((name) => name !== readsTheDaemon);
    const found = judged.flatMap((name) =>
      textsIn(name, contentOf(name)).map(({ file, line, text }) => ({
        place: `${file}:${line} ${text}`,
        key: `${file} ${text}`,
      })),
    );
    expect(found.filter(({ key }) => !names.includes(key)).map(({ place }) => place)).toEqual([]);
    // A name that is gone is taken off the list.
    const seen = new Set(found.map(({ key }) => key));
    expect(names.filter((name) => !seen.has(name))).toEqual([]);
  });

  it('was looked at as a whole', () => {
    expect(sources.length).toBeGreaterThan(130);
    const templates = sources.filter((name) => contentOf(name).includes('html`'));
    expect(templates.length).toBeGreaterThan(70);
  });

  it('writes numbers, dates and lists by the rules of the language', () => {
    const found = sources
      .filter((name) => name !== 'format.ts')
      .flatMap((name) => handwritten(contentOf(name)).map((line) => ({ name, line })))
      .filter(({ line }) => !line.includes(zoneOfDevice));
    expect(found.filter(({ name }) => !byHand.includes(name))).toEqual([]);
    const seen = new Set(found.map(({ name }) => name));
    expect(byHand.filter((name) => !seen.has(name))).toEqual([]);
  });

  it('has no text in its document or its styles', () => {
    expect(textsInMarkup(contentOf('index.html'))).toEqual([]);
    const styles = files.filter((name) => name.endsWith('.css'));
    expect(styles.length).toBeGreaterThan(15);
    expect(styles.flatMap((name) => textsInStyles(contentOf(name)))).toEqual([]);
  });
});

/** Each of these would stay English in another language. */
const planted: readonly (readonly [where: string, source: string, text: string])[] = [
  ['between tags', 'html`<p>Output off</p>`', 'Output off'],
  ['between tags, one small word', 'html`<p>${amps} left</p>`', '${} left'],
  ['between tags, across lines', 'html`<p>\n  Output\n  off\n</p>`', 'Output off'],
  ['after a tag', 'html`<br />again`', 'again'],
  ['in a picture', 'svg`<text x="1">Target</text>`', 'Target'],
  ['in an attribute that is read out', 'html`<nav aria-label="Pages"></nav>`', '"Pages"'],
  ['in a placeholder', 'html`<input placeholder="name" />`', '"name"'],
  ['in an attribute, in part', 'html`<a title="Run ${id}"></a>`', '"Run ${}"'],
  ['in an expression of a title', "html`<a title=${on ? 'on' : off}></a>`", 'on'],
  ['in an expression between tags', "html`<p>${on ? 'on' : say.off}</p>`", 'on'],
  ['in a template between tags', 'html`<p>${`${amps} left`}</p>`', '${} left'],
  ['behind a list', "html`<p>${['left', amps]}</p>`", 'left'],
  ['in a sentence of code', "const told = 'It is off.';", 'It is off.'],
  ['in a joined sentence', 'const told = `${low} to ${high}`;', '${} to ${}'],
  ['beside a unit', 'const told = `${amps} A wanted`;', '${} A wanted'],
  ['with a capital', "const told = 'Stopped';", 'Stopped'],
  ['in the words of a fact', 'fact(`left`, figure(a))', 'left'],
  ['on a button', "button('off', press)", 'off'],
  ['thrown at people', "throw new ApiError('It is away.', 0);", 'It is away.'],
  ['in a press of a button', "html`<b @click=${() => tell('All is off')}></b>`", 'All is off'],
  ['in other letters', "const told = 'Ток выключен';", 'Ток выключен'],
];

/** None of these is read by anybody. */
const quiet: readonly (readonly [where: string, source: string])[] = [
  ['an import', "import { a } from '#words/common';\nexport { b } from './B b.ts';"],
  ['a type', "type Kind = 'Output off' | 'No';\nlet one: 'Output off';"],
  ['a comment', '// Output off\nhtml`<!-- Output off --><p></p>`;'],
  ['a class', "html`<p class=\"fact ${on ? 'is on' : 'is off'}\"></p>`"],
  ['a shape', 'svg`<path d="M0 0h4v4z" />`; const d = `M${x} ${y}L${x} 4`;'],
  ['a selector', "page.querySelector('main > h1'); matchMedia('(min-width: 60rem)');"],
  ['a fault of the program', "throw new RangeError('There is no such size.');"],
  ['a figure with its unit', 'const told = `${amps} A, ${volts} V`; html`<p>${area} cm²</p>`;'],
  ['a path', 'const path = `/api/runs/${id}/notes`;'],
  ['words of a language', 'html`<p title=${say.off}>${say.on(amps)} · ${say.left}</p>`'],
  ['a name of a stage', "const stage = kind === 'hold' ? 'ramp' : 'strike';"],
];

describe('the search for texts', () => {
  it.each(planted)('finds one %s', (_where, source, text) => {
    expect(textsIn('page.ts', source).map((found) => found.text)).toEqual([text]);
  });

  it.each(quiet)('leaves %s alone', (_what, source) => {
    expect(textsIn('page.ts', source)).toEqual([]);
  });

  it('tells the line', () => {
    expect(textsIn('page.ts', "\n\nconst told = 'It is off.';")[0]?.line).toBe(3);
  });

  it('refuses what it cannot read', () => {
    expect(() => textsIn('page.ts', 'const = ;')).toThrow('page.ts cannot be parsed');
  });

  it('looks into documents and styles', () => {
    expect(textsInMarkup('<p>%noScript%</p><p>Needs it</p>')).toEqual(['Needs it']);
    expect(textsInStyles('a::before { content: "new "; } b::after { content: \'●\'; }')).toEqual([
      'new ',
    ]);
  });

  it.each([
    'value.toFixed(2)',
    'when.toLocaleString()',
    "names.join(', ')",
    'new Intl.ListFormat()',
  ])('finds what is written by hand: %s', (code) => {
    expect(handwritten(`const text = ${code};`)).toEqual([`const text = ${code};`]);
  });
});
