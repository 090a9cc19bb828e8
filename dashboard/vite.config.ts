/** Builds the dashboard into dist/dashboard, where the daemon serves it from. */

import { defineConfig, type Plugin } from 'vite';
import { documentLanguage, languageOf, placedBy, wordsAlias } from './build-language.ts';

/** The pages take the daemon's answers at their word; a schema that slips in would cost each of them 10 kB. */
function withoutValidator(): Plugin {
  return {
    name: 'without-validator',
    apply: 'build',
    transform(_code, id) {
      if (!id.includes('/node_modules/zod/')) return null;
      throw new Error(
        'A page imports a schema as a value: import its type, or move the value out.',
      );
    },
  };
}

/** Blank runs inside HTML templates carry nothing on this page; they are a tenth of its size. */
function withoutTemplateBlanks(): Plugin {
  return {
    name: 'without-template-blanks',
    apply: 'build',
    transform(code, id) {
      if (!id.includes('/dashboard/') || !id.endsWith('.ts')) {
        return null;
      }
      return { code: code.replace(/\n\s+/g, '\n '), map: null };
    },
  };
}

/**
 * The pages have one stylesheet, which stands in the document, and fetch each part when it is asked for:
 * what a build puts round every `import()` to fetch styles and files ahead has nothing to do here.
 */
function withoutPreloads(): Plugin {
  return {
    name: 'without-preloads',
    apply: 'build',
    enforce: 'pre',
    load(id) {
      if (!id.endsWith('vite/preload-helper.js')) return null;
      return 'export const __vitePreload = (load) => load();';
    },
  };
}

/** What the entry imports is named in the document, so that it is fetched beside the entry. */
function withEntryImports(): Plugin {
  return {
    name: 'with-entry-imports',
    apply: 'build',
    transformIndexHtml: {
      order: 'post',
      handler: (_html, { chunk }) =>
        (chunk?.imports ?? []).map((file) => ({
          tag: 'link',
          attrs: { rel: 'modulepreload', href: `/${file}` },
          injectTo: 'head' as const,
        })),
    },
  };
}

/** Files that import each other run before what they need is there: the build refuses them. */
function withoutCircles(): Plugin {
  return {
    name: 'without-circles',
    apply: 'build',
    generateBundle(_options, bundle) {
      const importsOf = (file: string): readonly string[] => {
        const built = bundle[file];
        return built?.type === 'chunk' ? built.imports : [];
      };
      const reaches = (from: string, wanted: string, seen = new Set<string>()): boolean =>
        importsOf(from).some((file) => {
          if (file === wanted) return true;
          if (seen.has(file)) return false;
          return reaches(file, wanted, seen.add(file));
        });
      const circle = Object.keys(bundle).find((file) => reaches(file, file));
      if (circle !== undefined) {
        this.error(`${circle} imports itself by way of others: name what it shares in one group.`);
      }
    },
  };
}

const frame =
  /node_modules\/(lit|@lit)|dashboard\/(access|access-line|alarm-banner|alarm-order|alarm\/(?:attention|asks|notices|pattern|speaker)|api|connection|element|focus-keeper|format|live-element|off-bar|page-code|route|run-paths|shell|staleness|tank-lines|theme|turn-line|words\/[\w-]+\/(?:access|alarm|common|figures|interrupted))\.ts$|daemon\/wire\/(roles|version)\.ts$|preload-helper/;

/** What the Plan page begins with; what is fetched later imports some of it, which would cut it in pieces. */
const plan =
  /dashboard\/(lazy-code|form-field|plan-(arming|carry|density|desk|draft|folds|form|goal|history|keep|lazy|page|question|request|status|undo)|piece\/(builder|draft|drawing|kinds|lazy-parts|library-place|measuring|part-form|part-place|piece-form|totals|totals-view)|words\/[\w-]+\/(?:piece|plan-bounds))\.ts$|daemon\/(wire\/checklist|piece\/length-slip)\.ts$/;

const language = languageOf(process.env['NIGHTBATH_LANGUAGE']);

export default defineConfig({
  root: import.meta.dirname,
  resolve: { alias: [wordsAlias(language)] },
  plugins: [
    documentLanguage(language),
    withoutPreloads(),
    withEntryImports(),
    withoutValidator(),
    withoutTemplateBlanks(),
    withoutCircles(),
  ],
  build: {
    outDir: '../dist/dashboard',
    emptyOutDir: true,
    target: 'es2022',
    modulePreload: false,
    reportCompressedSize: true,
    rolldownOptions: {
      output: {
        codeSplitting: {
          includeDependenciesRecursively: false,
          // What every page needs is one file: small ones each compress by themselves, and worse.
          groups: [
            { name: 'frame', test: placedBy(frame, language) },
            { name: 'plan', test: placedBy(plan, language) },
          ],
        },
      },
    },
  },
});
