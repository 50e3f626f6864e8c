"""Cards: reports and pictures as one printable page each."""
