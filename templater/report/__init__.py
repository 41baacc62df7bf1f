"""From records to what people read: tables and pictures as page, PDF, terminal lines and plain data."""
