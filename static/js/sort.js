// The heads of a figure's table become buttons that sort its rows: upwards, downwards, and as they came.
//
// Only the order changes: a row keeps its button and stays chosen. A column of numbers is sorted by what they say;
// a row without a number in it comes last either way.

const ORDERS = ["ascending", "descending", ""];

const numberOf = (text) => Number.parseFloat(text.replaceAll("\u202f", "").replace("\u2212", "-"));

const compared = (column) => {
  const collator = new Intl.Collator("en", { numeric: true });
  const text = (row) => row.cells[column].textContent.trim();
  return (isNumber, turn) => (one, other) => {
    if (!isNumber) return turn * collator.compare(text(one), text(other));
    const [a, b] = [numberOf(text(one)), numberOf(text(other))];
    if (Number.isNaN(a) || Number.isNaN(b)) return Number.isNaN(a) - Number.isNaN(b);
    return turn * (a - b);
  };
};

class Sorted {
  constructor(table) {
    this.heads = [...table.tHead.rows[0].cells];
    this.body = table.tBodies[0];
    this.came = [...this.body.rows];
    this.heads.forEach((head, column) => this.offer(head, column));
  }

  offer(head, column) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => this.sort(head, column));
  }

  sort(head, column) {
    const order = ORDERS[(ORDERS.indexOf(head.getAttribute("aria-sort") ?? "") + 1) % ORDERS.length];
    this.heads.forEach((one) => one.removeAttribute("aria-sort"));
    if (order) head.setAttribute("aria-sort", order);
    const turn = order === "descending" ? -1 : 1;
    const by = compared(column)(head.classList.contains("number"), turn);
    this.body.append(...(order ? [...this.came].sort(by) : this.came));
  }
}

document.querySelectorAll(".figure-data table").forEach((table) => new Sorted(table));
