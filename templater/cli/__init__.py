"""The shell, the only room for arguments, files, clock, printing and exit statuses."""
