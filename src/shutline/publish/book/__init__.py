"""The papers of the ledger as PDFs: invoices, and the stock book.

Takes what the ledger made; gives PDF bytes. Adds no word of its own to an invoice, and writes no file that outlives the
call.
"""

from shutline.publish.book.paper import invoice_pdf, stock_book_pdf

__all__ = ["invoice_pdf", "stock_book_pdf"]
