"""What people touch: tables, sheet, captions, review page."""
