"""The pages: a Django project for one person on one computer. Views are thin; the workspace does the work."""
