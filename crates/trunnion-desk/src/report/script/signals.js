// The list of every recorded signal: its value at the cursor, and a lane for those that are ticked.
class Signals {
  constructor(board) {
    this.board = board;
    this.chosen = new Set();
    this.section = null;
    this.outputs = [];
    const count = board.source.data.signals;
    this.root = element("details", "signals");
    this.root.append(element("summary", "", `All ${count} signals at the cursor`));
    this.root.addEventListener("toggle", () => {
      if (this.root.open && !this.outputs.length) this.build(count);
      this.place();
    });
    board.live.append(this.root);
  }

  build(count) {
    const search = element("input");
    search.type = "search";
    search.placeholder = "Part of a name or description";
    search.setAttribute("aria-label", "Filter the signals");
    const list = element("ul", "signal-list");
    for (let index = 0; index < count; index++) list.append(this.item(index));
    search.addEventListener("input", () => {
      const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      for (const item of list.children) item.hidden = !words.every((word) => item.words.includes(word));
    });
    this.root.append(search, list);
  }

  item(index) {
    const { name, unit, doc } = this.board.source.data.columns[index];
    const item = element("li");
    item.words = (name + " " + doc).toLowerCase();
    const label = element("label");
    const box = element("input");
    box.type = "checkbox";
    box.title = "Draw this signal";
    box.addEventListener("change", () => {
      if (box.checked) this.chosen.add(index);
      else this.chosen.delete(index);
      this.draw();
    });
    label.append(box, element("code", "", name));
    const value = element("span", "value");
    const output = element("output");
    value.append(output, unit ? "\u202f" + unit : "");
    this.outputs.push(output);
    item.append(label, value, element("span", "doc", doc));
    return item;
  }

  // Signals of one unit share a lane.
  draw() {
    const { board } = this;
    if (this.section) board.drop(this.section);
    this.section = null;
    if (this.chosen.size) {
      const lanes = new Map();
      for (const column of this.chosen) {
        const { name, unit, choices } = board.source.data.columns[column];
        const key = choices.length ? "states" : unit;
        if (!lanes.has(key)) lanes.set(key, { title: choices.length ? "States" : "", unit: choices.length ? "" : unit, range: null, limits: [], series: [] });
        const lane = lanes.get(key);
        lane.series.push({ column, label: name, colour: lane.series.length % 8, dash: Math.floor(lane.series.length / 8) % 3 });
      }
      this.section = board.figure({ title: "Chosen signals", caption: "", lanes: [...lanes.values()] });
      board.figures.append(this.section);
    }
    board.redraw();
  }

  place() {
    if (!this.root.open) return;
    this.outputs.forEach((output, index) => {
      output.textContent = this.board.source.read(index, this.board.cursor);
    });
  }
}
