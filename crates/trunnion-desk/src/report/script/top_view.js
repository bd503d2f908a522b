// The map of the path: the machine stands where the cursor is; a click on the path takes the cursor there.
class TopView {
  constructor(board, svg, path) {
    this.board = board;
    this.svg = svg;
    this.x = unpack(path.x);
    this.y = unpack(path.y);
    this.yaw = unpack(path.yaw);
    this.machine = svg.querySelector(".now");
    [this.left, this.top, this.scale, this.edge] = svg.dataset.frame.split(" ").map(Number);
    svg.classList.add("clickable");
    svg.addEventListener("click", (event) => this.onClick(event));
  }

  at(row) {
    return [this.edge + (this.x[row] - this.left) * this.scale, this.edge + (this.top - this.y[row]) * this.scale];
  }

  place() {
    const { rows } = this.board.source;
    if (!rows.length || !this.machine) return;
    const row = nearest(rows, this.board.cursor);
    const [x, y] = this.at(row);
    const turn = -this.yaw[row] * 180 / Math.PI;
    if (!(x + y + turn === x + y + turn)) return;
    this.machine.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)}) rotate(${turn.toFixed(1)})`);
  }

  onClick(event) {
    const matrix = this.svg.getScreenCTM();
    if (!matrix) return;
    const to = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    let best = Infinity, found = 0;
    const { rows } = this.board.source;
    for (let row = 0; row < rows.length; row++) {
      const [x, y] = this.at(row);
      const off = Math.hypot(x - to.x, y - to.y);
      if (off < best) { best = off; found = row; }
    }
    if (best > 24) return;
    this.board.point(rows[found]);
    this.board.hold(true);
    const { from, to: end } = this.board.view;
    if (rows[found] < from || rows[found] > end) {
      this.board.show(rows[found] - (end - from) / 2, rows[found] + (end - from) / 2);
    }
  }
}
