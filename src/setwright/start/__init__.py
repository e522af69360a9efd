"""Start: from nothing but a program file to a drafted job folder, every guess marked as one."""
