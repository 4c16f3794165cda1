"""What happens around a device while a person uses it. Nothing here draws, reads keys or opens a file."""
