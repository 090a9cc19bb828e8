/** A bath's ledger as it stands now: what is due, what is left, how hard it is worked, what was learned. */

import {
  additionDue,
  anodeLeftGrams,
  carbonSource,
  insolublePerAmpHour,
  loadMeasures,
  tankDoubts,
  usualAdditives,
  usualCarbonAmpHoursPerLitre,
  withShare,
} from '../chemistry/upkeep.ts';
import { metals } from '../chemistry/metals.ts';
import type { Bath, Metal } from '../chemistry/model.ts';
import { runningFigure } from '../run/weigh-in/running.ts';
import type { TankSettings } from '../settings/model.ts';
import type { LedgerEntry, LedgerLine, LedgerView, SavedEntry } from '../wire/ledger.ts';
import type { LedgerPlace, StoreReader } from './door.ts';
import { efficiencySamples } from './weigh-in-view.ts';

/** What the settings say of a tank today. */
export interface LedgerTank {
  readonly id: string;
  readonly name: string;
  readonly bath: string;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
  readonly simulated: boolean;
  /** Half width of the ammeter's range, as a share. */
  readonly meterShare: number;
}

/** As the settings have it. */
export function ledgerTank(tank: TankSettings): LedgerTank {
  const { id, name, bath, volumeLitres, anodeAreaDm2, rectifier } = tank;
  return {
    id,
    name,
    bath,
    volumeLitres,
    anodeAreaDm2,
    simulated: rectifier.link.kind === 'in-process',
    meterShare: rectifier.meterUncertainty,
  };
}

/** What a ledger is worked out from beside the log. */
export interface LedgerGround {
  readonly reader: Pick<StoreReader, 'ledger'>;
  readonly tanks: readonly LedgerTank[];
  /** As their files have them. */
  readonly baths: readonly Bath[];
}

/** Entries that are shown; older ones stay in the log. */
const shownEntries = 300;
/** Half width of an ammeter nobody has checked (common practice). */
const unknownMeterShare = 0.02;

type Kind = LedgerEntry['kind'];
type EntryOf<K extends Kind> = SavedEntry & { readonly entry: Extract<LedgerEntry, { kind: K }> };

/** One ledger with all that its figures are taken from. */
interface Book extends LedgerGround {
  readonly place: LedgerPlace;
  readonly tank: LedgerTank | undefined;
  readonly bath: Bath | undefined;
  readonly metal: Metal | undefined;
  /** The latest done first. */
  readonly entries: readonly SavedEntry[];
  readonly simulated: boolean;
}

function bookOf(ground: LedgerGround, place: LedgerPlace): Book {
  const tank = ground.tanks.find(({ id }) => id === place.tankId);
  const bath = ground.baths.find(({ id }) => id === place.bathId);
  const entries = ground.reader.ledger.entries(place, shownEntries);
  const metal = bath === undefined ? undefined : metals[bath.metal];
  return { ...ground, place, tank, bath, metal, entries, simulated: tank?.simulated ?? false };
}

/** Entries of a kind that were not taken back, the latest done first. */
function ofKind<K extends Kind>({ entries }: Book, kind: K): readonly EntryOf<K>[] {
  return entries.filter((saved): saved is EntryOf<K> => saved.entry?.kind === kind);
}

/** The one that was written last; when it was done says nothing about which figure is the newer. */
function lastWritten<Saved extends SavedEntry>(saved: readonly Saved[]): Saved | undefined {
  return saved.toSorted((one, other) => other.id - one.id)[0];
}

function ampHoursSince(book: Book, wallMs: number | null): number {
  return book.reader.ledger.charge(book.place, book.simulated, wallMs).ampHours;
}

function figuresOf(book: Book) {
  const own = lastWritten(ofKind(book, 'figures'));
  if (own !== undefined) return { ...own.entry, own: true };
  return {
    additives: book.bath === undefined ? [] : usualAdditives(book.bath),
    carbonAmpHoursPerLitre: book.bath?.metal === 'copper-II' ? usualCarbonAmpHoursPerLitre : null,
    anodes: 'soluble' as const,
    own: false,
  };
}

/** What a dose in part has left due. */
function leftOf({ amount, plannedAmount = amount }: EntryOf<'addition'>['entry']): number {
  return Math.max(0, plannedAmount - amount);
}

function additionsOf(book: Book): LedgerView['additions'] {
  const done = ofKind(book, 'addition');
  return figuresOf(book).additives.map((figure) => {
    const last = done.find(({ entry }) => entry.name === figure.name);
    const since = ampHoursSince(book, last?.atWallMs ?? null);
    const left = last?.entry.unit === figure.unit ? leftOf(last.entry) : 0;
    const { amount, due, dueAtAmpHours } = additionDue(figure, since, left);
    return {
      ...figure,
      lastWallMs: last?.atWallMs ?? null,
      lastAmount: last?.entry.amount ?? null,
      leftAmount: left,
      ampHoursSince: since,
      dueAmount: amount,
      due,
      dueAtAmpHours,
    };
  });
}

function carbonOf(book: Book): LedgerView['carbon'] {
  const { carbonAmpHoursPerLitre: every, own } = figuresOf(book);
  if (every === null || book.tank === undefined) return null;
  const last = ofKind(book, 'upkeep').find(({ entry }) => entry.what === 'carbon');
  const since = ampHoursSince(book, last?.atWallMs ?? null) / book.tank.volumeLitres;
  return {
    everyAmpHoursPerLitre: every,
    ampHoursPerLitreSince: since,
    lastWallMs: last?.atWallMs ?? null,
    due: since >= every,
    source: own ? "the maker's own figure" : carbonSource,
  };
}

function anodeOf(book: Book): LedgerView['anode'] {
  const { metal, tank } = book;
  const [last, before] = ofKind(book, 'anode');
  if (metal === undefined || last === undefined) return null;
  const meterShare = tank?.meterShare ?? unknownMeterShare;
  const since = ampHoursSince(book, last.atWallMs);
  const between =
    before === undefined ? 0 : Math.max(0, ampHoursSince(book, before.atWallMs) - since);
  return {
    weighedGrams: last.entry.grams,
    weighedWallMs: last.atWallMs,
    ampHoursSince: since,
    leftGrams: anodeLeftGrams(metal, last.entry.grams, since, meterShare),
    expectedGrams:
      before === undefined ? null : anodeLeftGrams(metal, before.entry.grams, between, meterShare),
  };
}

function loadOf({ reader, place, tank, bath }: Book): LedgerView['load'] {
  const run = reader.ledger.newestRun(place);
  if (run === null || tank === undefined || bath === undefined) return null;
  const { holdStartAmps, holdEndAmps, areaDm2, request } = run.plan;
  const { volumeLitres, anodeAreaDm2 } = tank;
  const amps = Math.max(holdStartAmps, holdEndAmps);
  const load = { amps, areaDm2, volumeLitres, anodeAreaDm2, meterShare: tank.meterShare };
  return {
    runId: run.id,
    pieceName: request.piece.name,
    measures: [...loadMeasures(load, bath)],
  };
}

function efficiencyOf(book: Book): LedgerView['efficiency'] {
  if (book.bath === undefined) return null;
  const samples = efficiencySamples(book.reader, book.place, book.simulated);
  const { efficiency } = book.bath;
  return {
    file: efficiency,
    adopted: lastWritten(ofKind(book, 'efficiency')) ?? null,
    learned: runningFigure(
      samples.map((sample) => sample.efficiency),
      efficiency.uncertainty,
    ),
    samples: samples.map((sample) => ({ ...sample, efficiency: { ...sample.efficiency } })),
  };
}

/** How far volume and anode area of a tank, as they are entered, can be trusted. */
function doubtsOf(tank: LedgerTank | undefined): LedgerView['doubts'] {
  if (tank === undefined) return null;
  const { volume, anodeArea } = tankDoubts;
  return {
    volumeLitres: withShare(tank.volumeLitres, volume.share),
    volumeSource: volume.source,
    anodeAreaDm2: withShare(tank.anodeAreaDm2, anodeArea.share),
    anodeAreaSource: anodeArea.source,
  };
}

/** One bath in full. */
export function ledgerView(ground: LedgerGround, place: LedgerPlace): LedgerView {
  const book = bookOf(ground, place);
  const { tank, bath, metal } = book;
  const figures = figuresOf(book);
  const all = ground.reader.ledger.charge(place, book.simulated, null);
  const insoluble = figures.anodes === 'insoluble' && metal !== undefined;
  return {
    tankId: place.tankId,
    bathId: place.bathId,
    tankName: tank?.name ?? null,
    bathName: bath?.name ?? null,
    current: tank?.bath === place.bathId,
    simulated: book.simulated,
    volumeLitres: tank?.volumeLitres ?? null,
    anodeAreaDm2: tank?.anodeAreaDm2 ?? null,
    doubts: doubtsOf(tank),
    ...all,
    metal: metal?.name ?? null,
    additions: additionsOf(book),
    ownFigures: figures.own,
    carbon: carbonOf(book),
    anodes: figures.anodes,
    metalGramsPerAmpHour: metal === undefined ? null : insolublePerAmpHour(metal).metalGrams,
    acidGramsPerAmpHour: insoluble ? insolublePerAmpHour(metal).acidGrams : null,
    anode: figures.anodes === 'soluble' ? anodeOf(book) : null,
    load: loadOf(book),
    temperature: bath?.temperature ?? null,
    efficiency: efficiencyOf(book),
    entries: [...book.entries],
  };
}

function dueSentences(book: Book): string[] {
  const additions = additionsOf(book);
  const carbon = carbonOf(book);
  const anode = figuresOf(book).anodes === 'soluble' ? anodeOf(book) : null;
  const amounts = additions
    .filter(({ due }) => due)
    .map(({ name, dueAmount, unit }) => `${name}: ${dueAmount.toPrecision(2)} ${unit} due`);
  return [
    ...amounts,
    ...(carbon?.due === true ? ['Carbon treatment due by charge'] : []),
    ...(anode !== null && anode.leftGrams.low < leastAnodeShare * anode.weighedGrams
      ? [`Anodes: about ${anode.leftGrams.value.toPrecision(2)} g left`]
      : []),
  ];
}

/** Anodes are changed while a third is still there: the rest hangs by a thread (common practice). */
const leastAnodeShare = 1 / 3;

/** Every bath that hangs in a tank today, or that something is on record of. */
export function ledgerLines(ground: LedgerGround): readonly LedgerLine[] {
  const today = ground.tanks.map(({ id, bath }) => ({ tankId: id, bathId: bath }));
  const places = [...today, ...ground.reader.ledger.places()];
  const keyed = new Map(places.map((place) => [`${place.tankId} ${place.bathId}`, place]));
  return [...keyed.values()].map((place) => {
    const book = bookOf(ground, place);
    const current = book.tank?.bath === place.bathId;
    const all = ground.reader.ledger.charge(place, book.simulated, null);
    return {
      ...place,
      tankName: book.tank?.name ?? null,
      bathName: book.bath?.name ?? null,
      current,
      ...all,
      due: current ? dueSentences(book) : [],
    };
  });
}
