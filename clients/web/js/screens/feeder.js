// A board: its name, its type and the cable that feeds it.

import { button, h, redraw } from "../dom.js";
import { plain } from "../format.js";
import { addBoard, board, changeBoard, changeBoardType, path, removeBoard, renameBoard } from "../layout.js";
import { choiceField, numberField, otherFaults, showFaults, textField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { ofService } from "../language.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { clean, typesFor } from "./supply.js";

const LAID = ["free-air", "surface", "grouped", "coiled"];

/** The sizes a region's table has for a cable. */
function sizes(cable, region) {
  const table = cable?.tables?.find((each) => each.id === region?.cable_tables?.[cable.id]) ?? cable?.tables?.[0];
  return table?.sizes ?? [];
}

/**
 * The fields of a cable run. `read()` gives the run as it stands or undefined, `change(run)` gets the
 * new one; undefined means no cable worth counting.
 */
export function runFields({ read, at, cables, region, none, change, redrawn }) {
  const run = read();
  const cable = cables.get(run?.cable);
  const first = () => {
    const [id, type] = cables.entries().next().value ?? [];
    return { cable: id, csa_mm2: sizes(type, region)[2]?.csa_mm2 ?? 2.5, length_m: 10, laid: "free-air" };
  };
  const set = (news) => change(clean({ ...read(), ...news }));
  // How it lies and how many lie together are one statement: the service refuses half of it.
  const lay = (laid) => {
    set({
      laid, coil_layers: laid === "coiled" ? read().coil_layers || 1 : undefined,
      grouped_circuits: laid === "grouped" ? Math.max(2, read().grouped_circuits ?? 2) : undefined,
    });
    redrawn();
  };
  const options = [["", none], ...[...cables.values()].map((c) => [c.id, c.name, ofService()])];
  if (run?.conductor) options.push(["spelled-out", t("run.spelled")]);
  return [
    choiceField(t("run.cable"), {
      value: run?.conductor ? "spelled-out" : run?.cable ?? "", options, path: `${at}/cable`,
      change: (id) => {
        if (id === "spelled-out") return;
        if (!id) change(undefined);
        else {
          const { conductor, table, ...rest } = read() ?? first();
          const has = sizes(cables.get(id), region).map((s) => s.csa_mm2);
          const size = has.includes(rest.csa_mm2) ? rest.csa_mm2 : has[0] ?? 2.5;
          change({ ...first(), ...rest, cable: id, csa_mm2: size });
        }
        redrawn();
      },
    }),
    run && !run.conductor ? choiceField(t("run.size"), {
      value: run.csa_mm2, path: `${at}/csa_mm2`,
      options: withOwn(sizes(cable, region), run.csa_mm2).map(({ csa_mm2: size, label }) =>
        [size, label || t("mm2", { n: plain(size) })]),
      change: (size) => set({ csa_mm2: Number(size) }),
    }) : null,
    run ? numberField(t("run.length"), {
      value: run.length_m, unit: "m", required: true, path: `${at}/length_m`,
      change: (length_m) => set({ length_m }),
    }) : null,
    run ? choiceField(t("run.laid"), {
      value: run.laid ?? "free-air", path: `${at}/laid`,
      options: LAID.map((laid) => [laid, t(`laid.${laid}`)]), change: lay,
    }) : null,
    run?.laid === "coiled" ? numberField(t("run.layers"), {
      value: run.coil_layers, required: true, path: `${at}/coil_layers`, hint: t("run.layers.hint"),
      change: (coil_layers) => set({ coil_layers }),
    }) : null,
    run?.laid === "grouped" ? numberField(t("run.grouped"), {
      value: run.grouped_circuits, required: true, path: `${at}/grouped_circuits`,
      change: (grouped_circuits) => set({ grouped_circuits }),
    }) : null,
  ];
}

const withOwn = (list, size) =>
  (size === undefined || list.some((s) => s.csa_mm2 === size) ? list : [...list, { csa_mm2: size }]);

/** The sheet of one board. */
export function openBoard(id, { regions, types, cables }) {
  let boardId = id;
  const body = h("div", { class: "form" });
  const at = () => path("boards", boardId);

  function draw(close) {
    const { layout } = worksheet;
    const b = board(layout, boardId);
    if (!b) { close(); return; }
    const region = regions.get(layout.region);
    redraw(body,
      textField(t("board.name"), {
        value: b.id, path: `${at()}/id`, maxlength: 64,
        change: (name) => {
          worksheet.edit((l) => renameBoard(l, boardId, name));
          if (board(worksheet.layout, name)) boardId = name;
          worksheet.look({ board: boardId });
          draw(close);
        },
      }),
      b.outlets ? h("p", { class: "aside" }, t("board.spelled", { n: b.outlets.length }))
        : typeField(b, region, close),
      h("h3", {}, t("board.feeder")),
      runFields({
        read: () => board(worksheet.layout, boardId)?.feeder, at: `${at()}/feeder`, cables, region,
        none: t("run.none.feeder"),
        change: (feeder) => worksheet.edit((l) => changeBoard(l, boardId, { feeder })), redrawn: () => draw(close),
      }),
      otherFaults(),
      button(t("board.remove"), () => {
        worksheet.edit((l) => removeBoard(l, boardId));
        worksheet.look({ board: null });
        close();
      }, { class: "grave" }));
    faults();
  }
  function typeField(b, region, close) {
    const parentSystem = b.fed_from ? types.get(b.type)?.system : worksheet.layout.supply.system;
    const { fitting, other } = typesFor(types, region, parentSystem);
    const known = [...fitting, ...other].some((type) => type.id === b.type);
    return choiceField(t("board.type"), {
      value: b.type, path: `${at()}/type`,
      options: [
        ...(known ? [] : [[b.type, b.type]]),
        { label: t("board.fitting"), options: fitting.map((type) => [type.id, type.name, ofService()]) },
        ...(other.length ? [{ label: t("board.other"), options: other.map((type) => [type.id, type.name, ofService()]) }] : []),
      ],
      change: (type) => {
        worksheet.edit((l) => changeBoardType(l, boardId, type, types.get(type).outlets));
        draw(close);
      },
    });
  }
  const faults = () => showFaults(body, worksheet.faultsUnder(at()));
  worksheet.addEventListener("change", faults);
  openSheet(t("board.title", { name: boardId }), (close) => { draw(close); return body; },
    () => worksheet.removeEventListener("change", faults));
}

/** The sheet that hangs another board on the supply itself. */
export function openAnother(region, types) {
  const { fitting, other } = typesFor(types, region, worksheet.layout.supply.system);
  openSheet(t("board.another"), (close) => h("div", { class: "form" },
    h("p", {}, t("board.another.words")),
    [...fitting, ...other].map((type) => button(quoted("span", {}, type.name), () => {
      let id;
      worksheet.edit((layout) => {
        [layout, id] = addBoard(layout, { type: type.id, fedFrom: null, stem: type.id });
        return layout;
      });
      worksheet.look({ board: id });
      close();
    }, { class: "item" }))));
}
