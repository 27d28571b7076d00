// A shared library without the entry.
extern "C" __attribute__((visibility("default"))) int lantern() { return 1; }
