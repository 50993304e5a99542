"""The ledger: what was bought, spent, sold and owed, to the penny, by rules with dates and sources.

Takes entries that somebody makes and answers that somebody gives; gives the stock book, sums of quarters, invoices,
what stands on the forecourt, a journal for the accountant, and days of consumers and imports. An entry is never
altered, only reversed; what is not known is said to be so. Sums are in Decimal, and no float is in them. May not read
or write anything but its own data, and gives no advice.
"""

from shutline.ledger.book import Book
from shutline.ledger.clock import Clock, Handed, Repair, Right, consumer_clock
from shutline.ledger.entries import Answer, Draft, Entry, Kind, Party, tax_at
from shutline.ledger.forecourt import Forecourt, Made, Standing, forecourt_of
from shutline.ledger.imports import Brought, ImportTold, import_told
from shutline.ledger.invoices import Invoice, InvoiceLine, check_invoice, purchase_invoice, sales_invoice
from shutline.ledger.journal import journal_text, transactions_of
from shutline.ledger.money import Money
from shutline.ledger.owed import Eligibility, Eligible, Owed, Taxed, eligibility_of, owed_on, tax_on_margin
from shutline.ledger.pages import Pages, StockCar, Whole
from shutline.ledger.rules import Rules, Said, rules_of
from shutline.ledger.stock import BookLine, State, book_line, stock_book
from shutline.ledger.totals import Totals, quarter_of, totals_of
from shutline.ledger.written import entries_csv, stock_book_csv

__all__ = [
    "Answer",
    "Book",
    "BookLine",
    "Brought",
    "Clock",
    "Draft",
    "Eligibility",
    "Eligible",
    "Entry",
    "Forecourt",
    "Handed",
    "ImportTold",
    "Invoice",
    "InvoiceLine",
    "Kind",
    "Made",
    "Money",
    "Owed",
    "Pages",
    "Party",
    "Repair",
    "Right",
    "Rules",
    "Said",
    "Standing",
    "State",
    "StockCar",
    "Taxed",
    "Totals",
    "Whole",
    "book_line",
    "check_invoice",
    "consumer_clock",
    "eligibility_of",
    "entries_csv",
    "forecourt_of",
    "import_told",
    "journal_text",
    "owed_on",
    "purchase_invoice",
    "quarter_of",
    "rules_of",
    "sales_invoice",
    "stock_book",
    "stock_book_csv",
    "tax_at",
    "tax_on_margin",
    "totals_of",
    "transactions_of",
]
