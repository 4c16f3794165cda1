"""How drawings and keys get through Textual: the one folder that uses the library's internals."""
