// A board's columns, unpacked when first asked for.
class Source {
  constructor(data) {
    this.data = data;
    this.axes = data.axes.map(unpack);
    this.columns = new Array(data.columns.length);
    let low = Infinity, high = -Infinity;
    for (const axis of this.axes) {
      for (const x of axis) {
        if (x < low) low = x;
        if (x > high) high = x;
      }
    }
    this.low = low <= high ? low : 0;
    this.high = high > this.low ? high : this.low + 1;
    // Where the cursor may stand: on the rows of the longest set of abscissae that rises.
    this.rows = this.axes.filter(rising).reduce((a, b) => (b.length > a.length ? b : a), new Float64Array(0));
  }

  column(index) {
    if (this.columns[index]) return this.columns[index];
    const { name, unit, doc, choices, axis, packed } = this.data.columns[index];
    const y = unpack(packed);
    let low = Infinity, high = -Infinity;
    for (const value of y) {
      if (value < low) low = value;
      if (value > high) high = value;
    }
    const x = this.axes[axis];
    const column = { name, unit, doc, choices, x, y, low, high };
    column.rising = rising(x);
    column.decimals = decimalsOf(packed, low, high);
    if (choices.length) column.stays = stays(x, y);
    this.columns[index] = column;
    return column;
  }

  // What a column shows at x, as text without its unit.
  read(index, x) {
    const column = this.column(index);
    if (!column.rising) return "\u2013";
    const value = column.y[nearest(column.x, x)];
    if (!(value === value)) return "\u2013";
    if (column.choices.length) return column.choices[value] || String(value);
    return number(value, column.decimals);
  }
}

function rising(x) {
  for (let row = 1; row < x.length; row++) if (!(x[row] > x[row - 1])) return false;
  return x.length > 0;
}

// First row at or after x.
function rowAfter(xs, x) {
  let low = 0, high = xs.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (xs[middle] < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

function nearest(xs, x) {
  const row = rowAfter(xs, x);
  if (row >= xs.length) return xs.length - 1;
  return row > 0 && x - xs[row - 1] < xs[row] - x ? row - 1 : row;
}

// Stays in one state: [from, until, state], the resting state left out.
function stays(x, y) {
  const list = [];
  for (let row = 0; row < y.length; row++) {
    const state = y[row] >= 1 ? Math.floor(y[row]) : 0;
    const last = list[list.length - 1];
    if (last && last[3]) last[1] = x[row];
    if (last && last[3] && last[2] !== state) last[3] = false;
    if (state > 0 && !(last && last[3])) list.push([x[row], x[row], state, true]);
  }
  return list;
}
