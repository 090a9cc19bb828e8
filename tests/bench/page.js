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

/** What any page starts with: the entry fetches these two once it knows who is there. */
const frame = ['index.html', 'shell.ts', 'connection.ts'];
/** What a page fetches as soon as its curves are looked at. */
const charts = /(^|\/)[a-z-]*charts\.ts$/;

/** Everything that a file of the manifest needs before it can run. */
function closure(manifest, keys, seen = new Set()) {
  for (const key of keys) {
    if (seen.has(key)) continue;
    seen.add(key);
    closure(manifest, manifest[key].imports ?? [], seen);
  }
  return seen;
}

/**
 * The dashboard by its own settings, into a folder of ours: nobody is served from it. Bytes by page,
 * with its curves open; what a page fetches only once a person asks for it is not counted.
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
  const bytes = new Map();
  for (const key of Object.keys(manifest).filter((one) => one.endsWith('-page.ts'))) {
    const curves = (manifest[key].dynamicImports ?? []).filter((one) => charts.test(one));
    const files = [...closure(manifest, [...frame, key, ...curves])].map(
      (one) => manifest[one].file,
    );
    const scripts = new Set(files.filter((file) => file.endsWith('.js')));
    const sizes = [...scripts].map((file) => gzipSync(readFileSync(join(outDir, file))).length);
    bytes.set(
      key.replace(/^.*\/|-page\.ts$/g, ''),
      sizes.reduce((total, size) => total + size, 0),
    );
  }
  if (bytes.size === 0) throw new Error('There is no page in the manifest.');
  return bytes;
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
    return { script: { leftOut: 'there is no dashboard yet' } };
  }
  let ours = new Map();
  try {
    ours = await dashboardBytes();
  } catch (error) {
    return { script: { leftOut: `the dashboard does not build: ${error.message}` } };
  }
  const theirs = await libraryBytes();
  const kilobytes = (bytes) => `${(bytes / 1000).toFixed(1)} kB`;
  const pages = [...ours].toSorted(([, one], [, other]) => other - one);
  const each = pages.map(([page, bytes]) => `${page} ${kilobytes(bytes)}`).join(', ');
  const [, most] = pages[0];
  return { script: { value: most / theirs, sides: `${each}; against ${kilobytes(theirs)}` } };
}
