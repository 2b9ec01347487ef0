"""The pages: parse, call one function, render."""
