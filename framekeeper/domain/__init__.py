"""The maths and rules of the trade: no Qt, no database, no files, no clock."""
