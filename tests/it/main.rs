mod demo;
