/** How much JavaScript each page brings, against lit and uPlot alone, both bundled the same way. */

import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { build } from 'vite';
import { root, scratchFolder } from './workshop.js';

const here = fileURLToPath(import.meta.url);

/** Bytes of all scripts under a folder, each compressed as a server would send it. */
function scriptBytes(folder) {
  const files = readdirSync(folder, { recursive: true }).filter((file) => file.endsWith('.js'));
  if (files.length === 0) throw new Error(`There is no script in ${folder}.`);
  const sizes = files.map((file) => gzipSync(readFileSync(join(folder, file))).length);
  return sizes.reduce((total, size) => total + size, 0);
}

/** What any page starts with: the entry, and what it imports. */
const frame = ['index.html'];
/** What some pages fetch by themselves on a wide screen, without a press of anybody. */
const byItself = /(^|\/)([a-z-]*charts|run-notes|device-alarms|deliveries|overview-part)\.ts$/;
const isPage = (key) => key.endsWith('-page.ts');

/** Files of the manifest with all that they need before they can run, and what `more` adds to each. */
function closure(manifest, keys, more, seen = new Set()) {
  for (const key of keys) {
    if (seen.has(key)) continue;
    seen.add(key);
    const { imports = [], dynamicImports = [] } = manifest[key];
    closure(manifest, [...imports, ...dynamicImports.filter(more)], more, seen);
  }
  return seen;
}

/**
 * The dashboard by its own settings, into a folder of ours: nobody is served from it. Bytes by page: to
 * begin with, its curves included where it shows them unasked, and once everything on it was opened.
 */
async function dashboardBytes() {
  const outDir = scratchFolder();
  await build({
    root: join(root, 'dashboard'),
    configFile: join(root, 'dashboard/vite.config.ts'),
    logLevel: 'error',
    build: { outDir, emptyOutDir: true, manifest: 'manifest.json' },
  });
  const manifest = JSON.parse(readFileSync(join(outDir, 'manifest.json'), 'utf8'));
  const bytesOf = (page, more) => {
    const files = [...closure(manifest, [...frame, page], more)].map((key) => manifest[key].file);
    const scripts = new Set(files.filter((file) => file.endsWith('.js')));
    const sizes = [...scripts].map((file) => gzipSync(readFileSync(join(outDir, file))).length);
    return sizes.reduce((total, size) => total + size, 0);
  };
  const pages = Object.keys(manifest).filter(isPage);
  if (pages.length === 0) throw new Error('There is no page in the manifest.');
  return pages.map((page) => ({
    page: page.replace(/^.*\/|-page\.ts$/g, ''),
    begin: bytesOf(page, (key) => byItself.test(key)),
    open: bytesOf(page, (key) => !isPage(key)),
  }));
}

/** The two libraries with what any page needs of them. */
async function libraryBytes() {
  const folder = scratchFolder();
  const entry = join(folder, 'entry.js');
  const source = `import { LitElement, html, nothing } from 'lit';
import uPlot from 'uplot';
Object.assign(globalThis, { LitElement, html, nothing, uPlot });
`;
  writeFileSync(entry, source);
  const outDir = join(folder, 'out');
  await build({
    root: folder,
    configFile: false,
    logLevel: 'error',
    plugins: [
      {
        name: 'libraries-of-this-project',
        enforce: 'pre',
        resolveId(source_, importer, options) {
          if (importer !== entry) return null;
          return this.resolve(source_, here, { ...options, skipSelf: true });
        },
      },
    ],
    build: {
      outDir,
      target: 'es2022',
      modulePreload: { polyfill: false },
      rolldownOptions: { input: entry },
    },
  });
  return scriptBytes(outDir);
}

export async function measure() {
  if (!existsSync(join(root, 'dashboard/index.html'))) {
    const leftOut = 'there is no dashboard yet';
    return { begin: { leftOut }, open: { leftOut } };
  }
  let ours = [];
  try {
    ours = await dashboardBytes();
  } catch (error) {
    const leftOut = `the dashboard does not build: ${error.message}`;
    return { begin: { leftOut }, open: { leftOut } };
  }
  const theirs = await libraryBytes();
  const kilobytes = (bytes) => `${(bytes / 1000).toFixed(1)} kB`;
  const figure = (state) => {
    const pages = ours.toSorted((one, other) => other[state] - one[state]);
    const each = pages.map((one) => {
      const times = (one[state] / theirs).toFixed(2);
      return `${one.page} ${kilobytes(one[state])} (${times})`;
    });
    const sides = `${each.join(', ')}; against ${kilobytes(theirs)}`;
    return { value: pages[0][state] / theirs, sides };
  };
  return { begin: figure('begin'), open: figure('open') };
}
