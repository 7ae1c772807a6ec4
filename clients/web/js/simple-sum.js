// The one sum that the browser does: what a crew adds up in its head, each lamp's amps at the plug by
// line, for where the service cannot be asked. No angles, no harmonics that meet, no voltage drop: it
// is shown as the simple sum until the service has answered, and judges nothing. The service does the
// same sum (`sum_a`); a test holds the two together.

import { burnsIn, isLoose, linesOf, LINES, outletsOf, supplyLine } from "./layout.js";

/** Power goes with this power of the voltage, by load model. */
const EXPONENT = { "constant-power": 0, "constant-current": 1, tungsten: 1.55, "constant-impedance": 2 };
/** A supply may be so far under and over what is marked. */
const LOW = 0.95;
const HIGH = 1.07;

const branchV = (fixture, voltage) => (fixture.connection === "delta" ? voltage * Math.sqrt(3) : voltage);
const takes = ([low, high], volts) => LOW * low <= volts && volts <= HIGH * high;
const clamp = (volts, [low, high]) => Math.min(Math.max(volts, low), high);

/** Whether a lamp is made for a line-to-neutral voltage. */
export const versionFor = (fixture, voltage) =>
  fixture.input_ranges_v.some((range) => takes(range, branchV(fixture, voltage)));

/** Where a lamp draws its watts, near a voltage across it. [V] */
function ratedV(fixture, volts) {
  const away = (v) => Math.abs(Math.log(v / volts));
  return fixture.input_ranges_v.map((range) => clamp(volts, range))
    .reduce((best, v) => (away(v) < away(best) ? v : best));
}

/** What one lamp takes per line of its plug at a line-to-neutral voltage. [A] */
export function plugCurrentA(fixture, voltage) {
  const volts = branchV(fixture, voltage);
  const power = fixture.power_w * (volts / ratedV(fixture, volts)) ** EXPONENT[fixture.load_model];
  const share = { star: 1 / 3, delta: 1 / Math.sqrt(3) }[fixture.connection] ?? 1;
  return (power / (volts * fixture.power_factor)) * share;
}

/** How a load sits on so many lines: with one line to neutral, two line to line, three star or delta. */
function connectionOf(lines, load, what) {
  if (lines === 1) return "single";
  if (lines === 2) return "line-to-line";
  return what.connection === "delta" || load.connection === "delta" ? "delta" : "star";
}

/** What a load takes per line at the nominal voltage, all units, as dimmed. [A] */
function loadCurrentA(load, fixture, lines, system, supplyV) {
  const what = fixture ?? { power_factor: 1, load_model: "constant-power", third_harmonic_pct: 0, ...load.custom };
  const connection = connectionOf(lines, load, what);
  const across = connection === "line-to-line" || connection === "delta";
  // Rated for the region's nominal voltage, and drawing at the supply's own where that is given.
  const nominal = (across && system.line_to_line_v) || system.line_to_neutral_v;
  const apart = system.system === "three-wire" ? 2 : Math.sqrt(3);
  const volts = (supplyV ?? system.line_to_neutral_v) * (across ? apart : 1);
  const rated = fixture ? ratedV(fixture, nominal) : what.rated_voltage_v ?? nominal;
  const exponent = EXPONENT[what.load_model];
  const level = load.dimmed_to ?? 1;
  const branches = lines === 3 ? 3 : 1;
  const power = (what.power_w * (load.count ?? 1) * level * (volts / rated) ** exponent) / branches;
  const dimmer = load.dimmer ?? (what.load_model === "tungsten" ? "phase-cut" : "built-in");
  // A resistance behind a phase-cut dimmer: the current of the voltage that is let through.
  const cut = dimmer === "phase-cut" && level < 1 && what.power_factor === 1
    && (what.load_model === "tungsten" || what.load_model === "constant-impedance");
  if (cut) return level > 0 ? power / (volts * level ** (1 / exponent)) * (connection === "delta" ? Math.sqrt(3) : 1) : 0;
  const rms = power / (volts * what.power_factor);
  if (connection !== "delta") return rms;
  // What goes round in a delta is not in its lines: the third harmonics.
  const fundamental = power / (volts * (what.displacement_factor ?? what.power_factor));
  return Math.sqrt(3 * Math.max(0, rms ** 2 - (fundamental * what.third_harmonic_pct / 100) ** 2));
}

/**
 * The amps of every board and of the supply, added up by line.
 *
 * `fixtures` is a Map by slug, `types` the board types, `region` the layout's; `setup` names one, or
 * null takes the fullest by line. Gives `{supply, boards, unknown}`: objects of amps by line, those
 * of boards in a Map by id under the board's own names of the lines, and the loads that could not be
 * counted.
 */
export function simpleSum(layout, { fixtures, types, region, setup = null }) {
  const system = region?.systems.find((each) => each.system === (layout.supply.system ?? "three-phase"));
  const setups = setup ? [setup] : layout.setups?.length ? layout.setups.map((each) => each.id) : [null];
  const unknown = [];
  const loads = layout.loads.filter((load) => !isLoose(load)).flatMap((load) => {
    const board = layout.boards.find((each) => each.id === load.board);
    const outlet = board && outletsOf(board, types).find((each) => each.id === load.outlet);
    const fixture = load.fixture ? fixtures.get(load.fixture) : null;
    if (!system || !outlet || (load.fixture ? !fixture?.input_ranges_v : !load.custom)) {
      unknown.push(load.id);
      return [];
    }
    const own = load.lines ?? outlet.lines;
    return [{
      load, through: wayUp(layout, board), amps: loadCurrentA(load, fixture, own.length, system, layout.supply.voltage_v),
      lines: own.map((line) => supplyLine(layout, types, board.id, line)),
    }];
  });
  const at = (counts) => Object.fromEntries(LINES.map((line) => [line, Math.max(...setups.map((name) => loads
    .filter((each) => counts(each) && each.lines.includes(line) && (name === null || burnsIn(each.load, name)))
    .reduce((sum, each) => sum + each.amps, 0)))]));
  const boards = new Map(layout.boards.map((board) => {
    const total = at(({ through }) => through.includes(board.id));
    return [board.id, Object.fromEntries(linesOf(board, types)
      .map((own) => [own, total[supplyLine(layout, types, board.id, own)]]))];
  }));
  return { supply: at(() => true), boards, unknown };
}

/** A sum in the form in which the service says a phase, marked as what it is. */
export const simpleReading = (amps, rating) => (amps === undefined ? undefined : {
  simple: true, current_a: amps, rating_a: rating,
  ...(rating > 0 ? { loading_pct: (100 * amps) / rating, headroom_a: rating - amps } : {}),
});

/** A board and all that it hangs on. */
function wayUp(layout, board) {
  const ids = [];
  for (let each = board; each && !ids.includes(each.id);) {
    ids.push(each.id);
    const above = each.fed_from?.board;
    each = layout.boards.find((other) => other.id === above);
  }
  return ids;
}
