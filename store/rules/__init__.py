"""The rule files: read, checked, compared, put in force and signed. Every clinical number is in one."""
