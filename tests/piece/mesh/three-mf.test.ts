/** 3MF models: units, transforms, components, parts, and XML that is refused. */

import { describe, expect, test } from 'vitest';
import { measureMesh } from '../../../daemon/piece/mesh/measure.ts';
import { meshLimits } from '../../../daemon/piece/mesh/model.ts';
import type { Mesh } from '../../../daemon/piece/mesh/model.ts';
import { readThreeMf } from '../../../daemon/piece/mesh/three-mf.ts';
import {
  box,
  codeOf,
  coreNamespace,
  meshXml,
  modelXml,
  refusalOf,
  simpleModel,
  text,
} from './bodies.ts';

const usualPath = '/3D/3dmodel.model';
const cube = box(10, 10, 10);

function readParts(parts: Readonly<Record<string, string>>, limits = meshLimits): Mesh {
  return readThreeMf((path) => {
    const found = parts[path];
    return found === undefined ? null : text(found);
  }, limits);
}

function readModel(xml: string): Mesh {
  return readParts({ [usualPath]: xml });
}

function object(id: number, body = cube, type = 'model'): string {
  return `<object id="${id}" type="${type}">${meshXml(body)}</object>`;
}

describe('a model', () => {
  test('of one object is that object, in millimetres unless it says otherwise', () => {
    const mesh = readModel(simpleModel(cube));
    expect(mesh.unit).toBe('millimetre');
    expect(measureMesh(mesh).volume).toBeCloseTo(1000, 9);
    expect(readModel(simpleModel(cube).replace(' unit="millimeter"', '')).unit).toBe('millimetre');
  });

  test.each([
    ['micron', 'micrometre'],
    ['centimeter', 'centimetre'],
    ['inch', 'inch'],
    ['foot', 'foot'],
    ['meter', 'metre'],
  ])('in %s is in %s', (word, unit) => {
    expect(readModel(simpleModel(cube).replace('millimeter', word)).unit).toBe(unit);
  });

  test('in a unit that there is not is refused', () => {
    expect(codeOf(() => readModel(simpleModel(cube).replace('millimeter', 'furlong')))).toBe(
      'broken',
    );
  });

  test('places what it builds, and scales and mirrors it', () => {
    const items = [
      '<item objectid="1"/>',
      '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 20 0 0"/>',
      '<item objectid="1" transform="2 0 0 0 1 0 0 0 1 40 0 0"/>',
      // Mirrored: without turning its triangles it would be inside out.
      '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 -10 0 0"/>',
    ];
    const measured = measureMesh(readModel(modelXml(object(1), items.join(''))));
    expect(measured).toMatchObject({ shells: 4, closed: true, insideOut: false });
    expect(measured.volume).toBeCloseTo(1000 * 5, 8);
    expect(measured.box).toEqual({ min: [-20, 0, 0], max: [60, 10, 10] });
  });

  test('keeps objects apart that touch', () => {
    const items = '<item objectid="1"/><item objectid="1" transform="1 0 0 0 1 0 0 0 1 10 0 0"/>';
    const measured = measureMesh(readModel(modelXml(object(1), items)));
    expect(measured).toMatchObject({ shells: 2, closed: true, nonManifoldEdges: 0 });
  });

  test('builds objects from components, one transform after the other', () => {
    const assembly = `<object id="2"><components>
      <component objectid="1"/>
      <component objectid="1" transform="1 0 0 0 1 0 0 0 1 20 0 0"/></components></object>`;
    // A quarter turn about z, then a move: x goes to y.
    const items = '<item objectid="2" transform="0 1 0 -1 0 0 0 0 1 100 0 0"/>';
    const measured = measureMesh(readModel(modelXml(object(1) + assembly, items)));
    expect(measured.box).toEqual({ min: [90, 0, 0], max: [100, 30, 10] });
    expect(measured.volume).toBeCloseTo(2000, 8);
  });

  test('leaves supports out and says so', () => {
    const resources = object(1) + object(2, box(1, 1, 30), 'support');
    const mesh = readModel(modelXml(resources, '<item objectid="1"/><item objectid="2"/>'));
    expect(measureMesh(mesh).area).toBeCloseTo(600, 9);
    expect(mesh.notes.join(' ')).toContain('1 objects that are no part of the body');
  });

  test('takes objects from other parts of the package', () => {
    const production =
      'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06" requiredextensions="p"';
    const assembly =
      '<object id="2"><components><component objectid="7" p:path="/3D/Objects/one.model"/></components></object>';
    const mesh = readParts({
      [usualPath]: modelXml(assembly, '<item objectid="2"/>', production),
      '/3D/Objects/one.model': modelXml(object(7), ''),
    });
    expect(measureMesh(mesh).volume).toBeCloseTo(1000, 9);
  });

  test('is found where the relationships of the package say', () => {
    const relationships = `<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
      <Relationship Id="a" Type="http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail" Target="/t.png"/>
      <Relationship Id="b" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/other.model"/></Relationships>`;
    const mesh = readParts({ '/_rels/.rels': relationships, '/3D/other.model': simpleModel(cube) });
    expect(measureMesh(mesh).area).toBeCloseTo(600, 9);
  });

  test('passes over what other namespaces say, even in the same words', () => {
    const strange =
      '<s:slice xmlns:s="urn:s"><s:vertices><s:vertex x="a" y="b"/></s:vertices></s:slice>';
    const prefixed = simpleModel(cube)
      .replace('<resources>', `<resources>${strange}`)
      .replaceAll(/<(\/?)(?=[a-z])(?!s:)/g, '<$1c:')
      .replace('xmlns="', 'xmlns:c="');
    expect(measureMesh(readModel(prefixed)).area).toBeCloseTo(600, 9);
  });

  test('may have comments, character data, instructions and attributes in any order', () => {
    const odd = simpleModel(cube)
      .replace(
        '<resources>',
        '<!-- a > b --><?x y?><metadata name="n"><![CDATA[<&]]></metadata><resources>',
      )
      .replaceAll(/v1="(\d+)" v2="(\d+)" v3="(\d+)"/g, 'v3 = \'$3\' pid="0" v1=\' $1 \' v2="$2"');
    expect(measureMesh(readModel(odd))).toMatchObject({ closed: true, triangles: 12 });
  });
});

describe('a model is refused', () => {
  const whole = simpleModel(cube);

  test('when it is cut off anywhere', () => {
    for (let end = 0; end < whole.length - 1; end += 37) {
      expect(
        codeOf(() => readModel(whole.slice(0, end))),
        `${end}`,
      ).toBe('notWellFormed');
    }
  });

  test.each([
    ['a tag that is not closed', '</resources>', ''],
    ['tags that cross', '</vertices>', '</triangles>'],
    ['an attribute named twice', 'v1="', 'v2="0" v1="'],
    ['a value without quotes', 'x="0"', 'x=0'],
    ['a bare ampersand', '<build>', '<build>&'],
    ['a sign of less in a value', 'type="model"', 'type="<"'],
    ['two roots', '</model>', '</model><model/>'],
    ['text beside the root', '</model>', '</model>x'],
    ['another encoding', 'UTF-8', 'UTF-16'],
    ['no blank between attributes', '" y=', '"y='],
  ])('for %s', (_, from, to) => {
    expect(codeOf(() => readModel(whole.replace(from, to)))).toBe('notWellFormed');
  });

  test.each([
    ['a document type', '<!DOCTYPE model [<!ENTITY a "b">]>'],
    ['a document type that loads', '<!DOCTYPE m SYSTEM "file:///etc/passwd">'],
    ['an entity declaration', '<!ENTITY a "b">'],
  ])('for %s', (_, declaration) => {
    const wrong = whole.replace('<model', `${declaration}<model`);
    expect(codeOf(() => readModel(wrong))).toBe('forbiddenXml');
  });

  test('for an entity of its own', () => {
    expect(codeOf(() => readModel(whole.replace('type="model"', 'type="&lol;"')))).toBe(
      'forbiddenXml',
    );
  });

  test.each([
    ['a vertex that there is not', 'v3="3"', 'v3="8"', 'outOfRange'],
    ['a negative vertex', 'v3="3"', 'v3="-1"', 'outOfRange'],
    ['a vertex that is no number', 'v3="3"', 'v3="three"', 'broken'],
    ['a missing vertex', 'v3="3"', '', 'broken'],
    ['a coordinate that is none', 'x="10"', 'x="ten"', 'broken'],
    ['a coordinate without end', 'x="10"', 'x="1e999"', 'notFinite'],
    ['a coordinate that is NaN', 'x="10"', 'x="NaN"', 'notFinite'],
    ['an object that there is not', 'objectid="1"', 'objectid="2"', 'outOfRange'],
    ['a transform of 11 numbers', '<item ', '<item transform="1 0 0 0 1 0 0 0 1 0 0" ', 'broken'],
    [
      'an extension it needs',
      'xmlns="',
      'xmlns:b="urn:beams" requiredextensions="b" xmlns="',
      'unsupported',
    ],
    ['another document', coreNamespace, 'urn:other', 'broken'],
    ['nothing to build', '<item objectid="1"/>', '', 'noTriangles'],
  ])('for %s', (_, from, to, code) => {
    expect(whole).toContain(from);
    expect(codeOf(() => readModel(whole.replace(from, to)))).toBe(code);
  });

  test('without a model part, or with a part missing', () => {
    expect(codeOf(() => readParts({}))).toBe('broken');
  });

  test('when objects are built from themselves', () => {
    const loop = '<object id="2"><components><component objectid="2"/></components></object>';
    expect(codeOf(() => readModel(modelXml(loop, '<item objectid="2"/>')))).toBe('zipBomb');
  });

  test('when few components multiply to many, before anything is copied', () => {
    const levels = Array.from({ length: 12 }, (_, k) => {
      const component = `<component objectid="${k + 1}"/>`;
      return `<object id="${k + 2}"><components>${component.repeat(10)}</components></object>`;
    });
    const bomb = modelXml(object(1) + levels.join(''), '<item objectid="13"/>');
    expect(codeOf(() => readModel(bomb))).toBe('zipBomb');
    const refusal = refusalOf(() =>
      readParts(
        { [usualPath]: modelXml(object(1) + (levels[0] ?? ''), '<item objectid="2"/>') },
        { maxTriangles: 100, maxBytes: 1e6 },
      ),
    );
    expect(refusal.code).toBe('tooManyTriangles');
  });

  test('when elements stand in one another too deep', () => {
    const deep = `${'<a>'.repeat(100)}${'</a>'.repeat(100)}`;
    expect(codeOf(() => readModel(whole.replace('<build>', `${deep}<build>`)))).toBe(
      'notWellFormed',
    );
  });
});
