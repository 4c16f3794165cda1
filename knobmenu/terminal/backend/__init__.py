"""Drawing and input through Textual: the only folder that uses the library's internals."""
