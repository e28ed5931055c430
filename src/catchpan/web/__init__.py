"""The server: the HTTP interface, the office pages and the field app's files; thin over `calls`."""
