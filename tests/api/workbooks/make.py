"""Writes the workbooks beside this file with two independent writers: openpyxl 3.1.5 and XlsxWriter 3.2.9."""
from datetime import datetime, timedelta
from pathlib import Path

import openpyxl
import xlsxwriter
from openpyxl.styles import Font

here = Path(__file__).parent
first = datetime(2025, 9, 1, 6, 30)
rows = [
    (first + timedelta(hours=hour), [127.02 + hour / 100, 126.85, None if hour == 1 else 127.1, 0.1 + 0.2], f"K {hour + 1}")
    for hour in range(4)
]

# Several sheets; the first is empty, the second holds words, the third a plain table with dates as dates.
book = openpyxl.Workbook()
book.active.title = "Empty"
words = book.create_sheet("Read me & more")
words["A1"] = "Measured at the rim line"
table = book.create_sheet("Samples")
table.append(["time", "a", "b", "c", "d", "coil"])
for cell in table[1]:
    cell.font = Font(bold=True)
for time, values, coil in rows:
    table.append([time, *values, coil])
for cell in table["A"][1:]:
    cell.number_format = "dd.mm.yyyy hh:mm"
book.save(here / "sheets.xlsx")

# A title, a head of two rows with merged cells, a time merged over the rows of its sample, decimal commas as text.
book = xlsxwriter.Workbook(str(here / "merged.xlsx"))
sheet = book.add_worksheet("Width")
date = book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"})
sheet.merge_range("A1:E1", "Rim width, September")
sheet.merge_range("A3:A4", "Time", date)
sheet.merge_range("B3:B4", "Sample")
sheet.merge_range("C3:D3", "Width")
sheet.write("E3", "Coil")
sheet.write("C4", 1)
sheet.write("D4", 2)
for index, (time, values, coil) in enumerate(rows[:2]):
    top = 4 + 2 * index
    sheet.merge_range(top, 0, top + 1, 0, time, date)
    sheet.merge_range(top, 1, top + 1, 1, index + 1)
    for line in range(2):
        sheet.write(top + line, 2, f"{127 + line},{index}5")
        sheet.write_number(top + line, 3, values[line])
        sheet.write(top + line, 4, coil)
book.close()

# Dates from 1904, formulas with their results, errors, truth values, rich text.
book = xlsxwriter.Workbook(str(here / "from-1904.xlsx"), {"date_1904": True})
sheet = book.add_worksheet("Table")
date = book.add_format({"num_format": '"on" d mmm yyyy hh:mm'})
euro = book.add_format({"num_format": '0.00" days"'})
bold = book.add_format({"bold": True})
sheet.write_row("A1", ["time", "value", "truth", "broken", "note"])
sheet.write_datetime("A2", first, date)
sheet.write_formula("B2", "=100+27.5", euro, 127.5)
sheet.write_boolean("C2", True)
sheet.write_formula("D2", "=1/0", None, "#DIV/0!")
sheet.write_rich_string("E2", "two ", bold, "parts")
book.close()

# Dates as bare numbers, without a format that shows dates.
book = openpyxl.Workbook()
table = book.active
table.title = "Serial"
table.append(["time", "a", "b"])
for hour in range(3):
    table.append([45901 + (6.5 + hour) / 24, 127.1 + hour / 10, 126.9])
book.save(here / "serial.xlsx")
