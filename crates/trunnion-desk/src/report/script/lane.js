// One lane: its heading with the legend, a canvas for lines and one for each band.
function element(tag, className, text) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
}

function swatch(series) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  made.setAttribute("viewBox", "0 0 22 8");
  made.setAttribute("aria-hidden", "true");
  made.setAttribute("class", "swatch pic");
  const line = document.createElementNS("http://www.w3.org/2000/svg", "path");
  line.setAttribute("d", "M1 4h20");
  line.setAttribute("class", "line c" + series.colour + ["", " dashed", " dotted"][series.dash]);
  made.append(line);
  return made;
}

class Lane {
  constructor(board, data) {
    this.board = board;
    this.fixed = data.range;
    this.limits = data.limits;
    this.lines = [];
    this.bands = [];
    this.canvases = [];
    this.seen = false;
    this.stale = true;
    this.whole = null;
    this.root = element("div", "lane");
    const head = element("div", "lane-head");
    const title = element("h5", "", data.title);
    if (data.unit) title.append(" ", element("span", "unit", data.unit));
    head.append(title);
    this.root.append(head);
    const split = data.series.map((series) => Object.assign({ shown: true }, series));
    for (const series of split) {
      const banded = board.source.data.columns[series.column].choices.length > 0;
      (banded ? this.bands : this.lines).push(series);
    }
    if (this.lines.length) {
      const legend = element("div", "legend");
      for (const series of this.lines) legend.append(this.entry(series));
      head.append(legend);
      this.root.append(this.plot("plot", (canvas) => paintLines(canvas, this, board)));
    }
    for (const series of this.bands) {
      const line = element("div", "band-head");
      series.output = element("output");
      line.append(element("span", "", series.label), series.output);
      this.root.append(line, this.plot("plot band", (canvas) => paintBand(canvas, series, board)));
    }
  }

  entry(series) {
    const button = element("button", "entry");
    button.type = "button";
    button.setAttribute("aria-pressed", "true");
    const doc = board_doc(this.board, series.column);
    button.title = (doc ? doc + "\n" : "") + "Click: hide or show. Shift and click: show alone.";
    series.output = element("output");
    series.button = button;
    button.append(swatch(series), element("span", "", series.label), series.output);
    button.addEventListener("click", (event) => {
      if (event.shiftKey) {
        const alone = this.lines.every((other) => other.shown === (other === series));
        for (const other of this.lines) other.shown = alone || other === series;
      } else series.shown = !series.shown;
      for (const other of this.lines) other.button.setAttribute("aria-pressed", String(other.shown));
      this.whole = null;
      this.draw();
    });
    return button;
  }

  plot(className, paint) {
    const holder = element("div", className);
    const canvas = element("canvas");
    holder.append(canvas, element("i", "needle"), element("i", "selection"));
    this.canvases.push([canvas, paint]);
    return holder;
  }

  // Ends of the y axis: fixed, fitted to the run, or fitted to what the window shows.
  range(board) {
    if (board.fitted) return this.measure(board.view.from, board.view.to);
    if (this.fixed) return this.fixed;
    if (!this.whole) this.whole = this.measure(-Infinity, Infinity);
    return this.whole;
  }

  measure(from, to) {
    let low = Infinity, high = -Infinity;
    for (const series of this.lines) {
      if (!series.shown && this.lines.some((other) => other.shown)) continue;
      const column = this.board.source.column(series.column);
      for (let row = 0; row < column.y.length; row++) {
        const value = column.y[row];
        if (column.x[row] < from || column.x[row] > to) continue;
        if (value < low) low = value;
        if (value > high) high = value;
      }
    }
    if (from === -Infinity) {
      for (const [value] of this.limits) {
        if (value < low) low = value;
        if (value > high) high = value;
      }
    }
    return fit(low, high);
  }

  draw() {
    this.stale = true;
    if (!this.seen) return;
    this.stale = false;
    for (const [canvas, paint] of this.canvases) paint(canvas);
  }

  read() {
    if (!this.seen) return;
    for (const series of this.lines.concat(this.bands)) {
      const text = this.board.source.read(series.column, this.board.cursor);
      if (series.output.textContent !== text) series.output.textContent = text;
    }
  }
}

function board_doc(board, index) {
  const { name, doc } = board.source.data.columns[index];
  return doc ? name + ": " + doc : name;
}
